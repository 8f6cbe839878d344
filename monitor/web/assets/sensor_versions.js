/* The Sensor page, right: versions of the calibration; approve, go back. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const versions = (hookLoad.sensorVersions = { told: null });
  let mine = 0; // version proposed from this page
  let awaited = false;

  const part = (...given) => hookLoad.sensor.part(...given);

  versions.load = async () => {
    const told = await hookLoad.sensor.get("versions");
    if (told.error) return;
    const before = versions.told === null ? null : versions.told.in_force;
    versions.told = told;
    if (awaited && told.rows.length > 1) {
      mine = Math.max(...told.rows.map((one) => one.version));
      awaited = false;
    }
    show();
    if (before !== told.in_force) hookLoad.sensorPoints.refresh();
    hookLoad.sensorPoints.guide();
  };

  versions.proposed = () => {
    awaited = true;
    versions.load();
  };

  /* A proposal waits for approval, or this page's own was approved. */
  versions.isProposed = () => mine > 0 || versions.waiting() !== null;
  versions.isApproved = () =>
    mine > 0 && versions.told !== null && versions.told.in_force === mine;
  versions.waiting = () =>
    versions.told === null ? null
      : versions.told.rows.find((one) => one.state === "proposed") || null;

  const show = () => {
    const { told } = versions;
    hookLoad.setText("sensor-note", told.in_force
      ? `version ${told.in_force} in force` : "calibration: as the rig file says");
    hookLoad.element("sensor-versions").replaceChildren(...told.rows.map(card));
  };

  const card = (version) => {
    const box = part("div", "sensor-version");
    const head = part("div", "sensor-version-head");
    head.append(
      part("b", "", version.version ? `Version ${version.version}` : "Rig file"),
      part("span", version.state === "in force" ? "sensor-in-force" : "soft", version.state)
    );
    box.append(head, part("div", "soft", version.words));
    if (version.version) {
      box.append(part("div", "soft", `Reference: ${version.reference || "not stated"}; ` +
        `certificate: ${version.certificate || "not stated"}`));
    }
    if (version.change_percent !== undefined) {
      const { number } = hookLoad.sensor;
      box.append(part("div", "", `Moves a dead-line load by up to ${number(version.change, 2)} ` +
        `${hookLoad.unit("force")} (${number(version.change_percent, 2)} %)`));
    }
    if (version.as_found_worst !== undefined) {
      box.append(part("div", "soft", "As found out by " +
        `${hookLoad.sensor.number(version.as_found_worst, 2)} ${hookLoad.unit("force")} at most`));
    }
    for (const act of version.acts) {
      const why = act.text ? `: ${act.text}` : "";
      box.append(part("div", "soft sensor-act",
        `${act.act} ${hookLoad.moment(act.time_us)} by ${act.who}${why}`));
    }
    const buttons = part("div", "sensor-buttons");
    if (version.state === "proposed") buttons.append(press("Approve", () => approve(version)));
    if (version.state === "not in force") {
      buttons.append(press("Go back to this", () => goBack(version)));
    }
    if (version.version) {
      buttons.append(press("Certificate", () =>
        window.open(`/sensor/version.html?version=${version.version}`, "_blank")));
    }
    if (buttons.children.length) box.append(buttons);
    return box;
  };

  const press = (words, act) => {
    const button = part("button", "button", words);
    button.type = "button";
    button.addEventListener("click", act);
    return button;
  };

  const approve = (version) => {
    hookLoad.dialog.ask({
      title: `Approve version ${version.version}`,
      words:
        `${version.words}. Loads, expected loads and alarms go by it at once; rows recorded ` +
        "before keep the calibration they were made with. Let somebody else than who proposed it " +
        "look at points and fit.",
      reason: true,
      confirm: () => `Put version ${version.version} in force`,
      act: ({ reason }, override) => ({
        act: "calibration_approved", number: String(version.version),
        text: override ? `override: ${reason}` : reason,
      }),
      done: `Version ${version.version} is in force`,
      after: versions.load,
    });
  };

  const goBack = (version) => {
    const name = version.version ? `version ${version.version}` : "the rig file's";
    hookLoad.dialog.ask({
      title: `Go back to ${name}`,
      words: "Loads go by it at once. Nothing recorded is changed, and nothing is deleted.",
      reason: true,
      confirm: () => `Go back to ${name}`,
      act: ({ reason }) => ({
        act: "calibration_rolled_back", number: String(version.version), text: reason,
      }),
      done: `In force: ${name}`,
      after: versions.load,
    });
  };
})();
