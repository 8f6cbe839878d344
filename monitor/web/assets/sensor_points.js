/* The Sensor page, middle: points as text, what the server reads and fits of them. The text
   is the one truth here; it is in the form that `hookload calibrate` reads. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const TEXT_KEY = "hook-load-points";
  const LOOK_MS = 150;
  const points = (hookLoad.sensorPoints = { text: "", answer: null, model: "linear", zero: false });
  let timer = null;
  let round = 0;
  let area = null;

  const part = (...given) => hookLoad.sensor.part(...given);
  const input = (name) => hookLoad.sensor.inputs[name];

  points.asked = () => ({
    points: points.text, model: points.model, through_zero: points.zero,
    reference: input("sensor-reference").value, certificate: input("sensor-certificate").value,
    percent: input("sensor-percent").value,
  });

  /* More lines; how many were not there already. A spell is known by its time and reference. */
  points.add = (header, more) => {
    const lines = points.text.split("\n").filter((one) => one.trim());
    const isOwn = lines.length > 0 && lines[0].trim() === header;
    if (lines.length > 1 && !isOwn) return refuseForm();
    const key = (line) => line.split(",").slice(3, 5).join(",");
    const known = new Set(lines.map(key));
    const fresh = more.filter((line) => !known.has(key(line)));
    if (fresh.length) set([header, ...lines.slice(1), ...fresh].join("\n") + "\n");
    return fresh.length;
  };

  const refuseForm = () => {
    hookLoad.acts.say("Pasted points have other columns: clear them before capturing");
    return 0;
  };

  const set = (text) => {
    points.text = text;
    hookLoad.sensor.keep(TEXT_KEY, text);
    if (area !== null && document.activeElement !== area) area.value = text;
    soon();
  };

  const soon = () => {
    clearTimeout(timer);
    timer = setTimeout(fit, LOOK_MS);
  };

  const fit = async () => {
    round += 1;
    const mine = round;
    const answer = await hookLoad.sensor.post("points", points.asked());
    if (mine !== round) return;
    points.answer = answer;
    show();
  };

  const show = () => {
    const { answer } = points;
    const found = answer.certificate || null;
    table(answer);
    facts(answer, found);
    hookLoad.sensor.draw("sensor-chart", found ? answer.residual_chart : "<svg/>");
    hookLoad.element("sensor-propose").disabled = !found;
    hookLoad.element("sensor-print").disabled = !found;
    points.guide();
  };

  const table = (answer) => {
    const holder = hookLoad.element("sensor-points");
    const faults = [...(answer.faults || []), ...(answer.error ? [answer.error] : [])];
    const told = faults.map((words) => part("p", "sensor-fault", words));
    const rows = answer.points || [];
    if (!rows.length) {
      holder.replaceChildren(...told, part("p", "soft", faults.length ? ""
        : "No point yet. Capture on the left, or paste a table with the header " +
          "reference_load [kN],reading [mA]"));
      return;
    }
    const body = part("table", "sensor-table");
    const head = part("tr");
    const unit = answer.load_unit;
    const named = [["#"], ["load", unit], ["reading", answer.reading_unit], ["left", unit],
      ["out now", unit], ["block"], [""]];
    for (const [words, below] of named) {
      const cell = part("th", "", words);
      if (below) cell.append(part("span", "unit", below));
      head.append(cell);
    }
    body.append(head, ...rows.map((point, place) => rowOf(point, place)));
    holder.replaceChildren(...told, body);
  };

  const rowOf = (point, place) => {
    const { fixed } = hookLoad.sensor;
    const line = part("tr", point.is_as_found ? "as-found" : "");
    const moved = point.is_as_found ? "as found" : point.moved || point.series || "";
    for (const text of [place + 1, fixed(point.load, 2), fixed(point.reading, 4),
      fixed(point.residual_load, 2, true), fixed(point.error_before, 2, true), moved]) {
      line.append(part("td", "", text));
    }
    const away = part("button", "sensor-away", "\u00d7");
    away.type = "button";
    away.setAttribute("aria-label", `Take out point ${place + 1}`);
    away.addEventListener("click", () => {
      const lines = points.text.split("\n");
      lines.splice(point.line - 1, 1);
      set(lines.join("\n"));
    });
    const cell = part("td");
    cell.append(away);
    line.append(cell);
    return line;
  };

  const facts = (answer, found) => {
    const holder = hookLoad.element("sensor-fit");
    if (!found) {
      holder.replaceChildren(part("p", "soft", answer.why_no_fit || ""));
      return;
    }
    const { number } = hookLoad.sensor;
    const unit = found.load_unit;
    const widths = found.inverse.table.map((entry) => entry.half_width_95);
    const span = found.range.load.map((load) => number(load, 4)).join(" to ");
    const percent = (value) => (value === null ? "not known" : `${number(value, 2)} %`);
    const rows = [
      ["Holds", `${span} ${unit}; beyond it is extrapolated`],
      ["\u00b1 of a load, 95 %", `${number(Math.max(...widths), 2)} ${unit} at most`],
      ["Standard deviation", `${number(found.residual_standard_deviation, 3)} ${found.reading_unit}`],
      ["Lower limit factor", `${number(found.lower_limit_factor_load, 3)} ${unit}`],
      ["Repeatability", percent(found.series.repeatability_percent)],
      ["Hysteresis", percent(found.series.reversibility_percent)],
    ];
    const list = part("dl", "sensor-facts");
    for (const [name, value] of rows) list.append(part("dt", "", name), part("dd", "", value));
    const notes = [...found.notes.slice(1), answer.friction].filter(Boolean)
      .map((words) => part("p", "soft", words));
    holder.replaceChildren(list, ...notes);
  };

  /* Which step is next, and what to do there. */
  points.guide = () => {
    const { answer } = points;
    const found = answer && answer.certificate;
    const versions = hookLoad.sensorVersions;
    const done = [hookLoad.sensor.kind !== "", Boolean(found), versions.isProposed(),
      versions.isApproved()];
    const at = done.indexOf(false);
    const count = answer && answer.points ? answer.points.length : 0;
    const words = [
      "Choose what gives the known load.",
      `Hang a load, hold it still, press Capture: ${count || "no"} point${count === 1 ? "" : "s"} ` +
        "so far. Two different loads and three points at least; five loads up and down are better.",
      "Look at what the fit leaves. Say what the reference was and its certificate, then propose.",
      "Proposed. Whoever answers for it approves it on the right; from then on loads go by it.",
    ];
    document.querySelectorAll("#sensor-steps li").forEach((step, place) => {
      step.classList.toggle("done", done[place]);
      step.classList.toggle("next", place === at);
    });
    hookLoad.setText("sensor-next", at < 0
      ? "In force. Capture the empty block again as a check: it should read its known weight."
      : words[at]);
  };

  const print = async () => {
    const page = window.open("", "_blank");
    const told = await hookLoad.sensor.post("certificate", points.asked());
    if (told.error || page === null) {
      if (page !== null) page.close();
      hookLoad.acts.say(told.error || "The browser did not let the page open");
      return;
    }
    page.location = URL.createObjectURL(new Blob([told.page], { type: "text/html" }));
  };

  const propose = () => {
    const found = points.answer.certificate;
    hookLoad.dialog.ask({
      title: "Propose this calibration",
      words:
        `${found.points.length} points, ${found.model}. Nothing changes by it: it is kept with ` +
        "its points until somebody approves it.",
      amount: "Note (may stay empty)",
      confirm: () => "Propose",
      act: ({ amount }) => ({ ...points.asked(), note: amount }),
      send: (asked) => hookLoad.sensor.post("propose", asked),
      done: "Proposed",
      after: () => hookLoad.sensorVersions.proposed(),
    });
  };

  const choose = (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    if (button.dataset.zero) points.zero = !points.zero;
    else points.model = button.dataset.model;
    press();
    soon();
  };

  const press = () => {
    document.querySelectorAll("#sensor-model button").forEach((one) => {
      const on = one.dataset.zero ? points.zero : one.dataset.model === points.model;
      one.classList.toggle("chosen", on);
      one.setAttribute("aria-pressed", on);
    });
  };

  const paste = () => {
    const holder = hookLoad.element("sensor-text");
    if (area === null) {
      area = part("textarea");
      area.spellcheck = false;
      area.setAttribute("aria-label", "Points as text");
      area.placeholder = "reference_load [kN],reading [mA],series\n0,4.02,up\n50,7.21,up";
      area.addEventListener("input", () => set(area.value));
      holder.append(area);
    }
    area.value = points.text;
    holder.classList.toggle("away");
    if (!holder.classList.contains("away")) area.focus();
  };

  const fromFile = () => {
    const file = part("input");
    file.type = "file";
    file.accept = ".csv,.txt,text/csv,text/plain";
    file.addEventListener("change", async () => {
      if (file.files.length) set(await file.files[0].text());
    });
    file.click();
  };

  points.start = () => {
    points.text = hookLoad.sensor.kept(TEXT_KEY);
    hookLoad.element("sensor-model").addEventListener("click", choose);
    hookLoad.element("sensor-paste").addEventListener("click", paste);
    hookLoad.element("sensor-file").addEventListener("click", fromFile);
    hookLoad.element("sensor-clear").addEventListener("click", () => set(""));
    hookLoad.element("sensor-propose").addEventListener("click", propose);
    hookLoad.element("sensor-print").addEventListener("click", print);
    ["sensor-reference", "sensor-certificate", "sensor-percent"].forEach((name) =>
      input(name).addEventListener("change", soon)
    );
    press();
  };

  points.refresh = soon;
})();
