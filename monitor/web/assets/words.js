/* Words in the place of digits: why a figure is not shown. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});

  const ACTIVITY = {
    unknown: "Activity not known",
    in_slips: "In slips",
    hoisting: "Hoisting",
    lowering: "Lowering",
    stationary: "Stationary",
    on_bottom: "On bottom",
  };
  const TRIP = { out: ", trip out", in: ", trip in", drilled: "" };
  const QUALITY = [
    ["GAP", "no data came"],
    ["FAULT", "sensor fault"],
    ["FROZEN", "signal frozen"],
    ["ABSURD", "absurd reading"],
    ["UNREADABLE", "unreadable"],
    ["JUMP", "block jumped"],
    ["MISSING", "no reading"],
  ];

  hookLoad.activityCode = () => {
    const row = hookLoad.now.row;
    return row === null ? "unknown" : hookLoad.facts.activities[row.activity] || "unknown";
  };

  hookLoad.inSlips = () => hookLoad.activityCode() === "in_slips";

  hookLoad.activityWord = () => {
    const code = hookLoad.activityCode();
    if (code === "in_slips" && hookLoad.has("state", "SLIPS_HOLDING_PIPE")) {
      return "In slips, holding pipe";
    }
    const moving = code === "hoisting" || code === "lowering";
    return ACTIVITY[code] + (moving ? TRIP[hookLoad.now.status.direction] || "" : "");
  };

  /* Whether it is the block's position that does not come, and not the load. */
  hookLoad.lacksBlock = () =>
    hookLoad.has("quality", "MISSING") && hookLoad.now.row.hook_load_N !== null;

  /* The worst thing said about the load and the block, or "". */
  hookLoad.fault = () => {
    const found = QUALITY.find(([name]) => hookLoad.has("quality", name));
    if (!found) return "";
    return hookLoad.lacksBlock() ? "no block position" : found[1];
  };

  hookLoad.why = {
    hookLoad: () => hookLoad.fault() || "not known",
    excess: () => {
      if (hookLoad.inSlips()) return "in slips";
      if (hookLoad.now.row.hook_load_N === null) return hookLoad.fault() || "not known";
      if (hookLoad.activityCode() === "on_bottom") return "on bottom";
      if (hookLoad.has("state", "LEARNING")) return "learning";
      if (hookLoad.has("state", "LOAD_NOT_TAKEN")) return "load coming on";
      return "not known";
    },
    roomLeft: () => {
      if (hookLoad.inSlips()) return "in slips";
      if (hookLoad.now.row.hook_load_N === null) return hookLoad.fault() || "not known";
      return (hookLoad.now.status.pull_limits || []).length ? "not known" : "no ratings given";
    },
    bitDepth: () => "not known",
    blockSpeed: () => (hookLoad.lacksBlock() ? "no reading" : hookLoad.fault() || "not known"),
    weightOnBit: () => {
      if (hookLoad.inSlips()) return "in slips";
      if (hookLoad.has("state", "TARE_MISSING")) return "no zero yet";
      return hookLoad.fault() || "not known";
    },
  };

  /* Sensor health for the top line, and whether it wants attention. */
  hookLoad.health = () => {
    const { row, status, pulse } = hookLoad.now;
    const cover = hookLoad.cover();
    if (cover === "no connection") return ["no connection", "act-now"];
    if (pulse.trouble) return ["the record cannot be read", "act-now"];
    if (pulse.stopped && !pulse.finished) return ["recorder stopped", "act-now"];
    if (pulse.heartbeat_age_s > 5 && !pulse.finished) return ["recorder does not answer", "act-now"];
    if (cover) return ["sensor not known", ""];
    if (hookLoad.has("state", "ALARMS_HELD")) return ["slip and cut: alarms held", "be-ready"];
    const fault = hookLoad.fault();
    const width = hookLoad.format(row.hook_load_half_width_N, "force", {
      decimals: hookLoad.loadDecimals(),
    });
    const within = width === null ? "" : `, \u00b1 ${width} ${hookLoad.unit("force")}`;
    if (fault) return [fault.startsWith("sensor") ? fault : `sensor: ${fault}`, "be-ready"];
    if (hookLoad.has("state", "WORKING_STUCK")) return ["stuck pipe: sound held", "be-ready"];
    if (hookLoad.has("state", "OUTSIDE_CALIBRATION")) {
      return [`beyond its calibration${within}`, ""];
    }
    const plain = hookLoad.has("quality", "AS_REPORTED") ? "load as reported" : "sensor good";
    return [plain + (status.sensor_word ? `, ${status.sensor_word}` : "") + within, ""];
  };

  hookLoad.refused = () => {
    const counts = (hookLoad.now.status.counts || {}).rejected || {};
    const parts = Object.entries(counts)
      .filter(([, number]) => number > 0)
      .map(([reason, number]) => `${number.toLocaleString("en-US")} ${reason}`);
    return parts.length ? `Refused: ${parts.join(", ")}` : "No rows refused";
  };
})();
