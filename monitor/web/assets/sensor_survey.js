/* The Sensor page: heights by tape against what the counter shows, as lines of text. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const TEXT_KEYS = { "sensor-survey": "hook-load-survey", "sensor-tally": "hook-load-tally" };
  const survey = (hookLoad.sensorSurvey = {});
  const areas = {};
  let round = 0;

  const part = (...given) => hookLoad.sensor.part(...given);

  const taken = () => {
    const input = hookLoad.sensor.inputs["sensor-taped"];
    const height = input.value.trim();
    const newest = hookLoad.now.row;
    if (!height || hookLoad.cover() !== "" || newest === null || newest.block_position_m === null) {
      hookLoad.acts.say(height ? "No block position comes in" : "The height by tape, please");
      return;
    }
    const shown = hookLoad.shown(newest.block_position_m, "length").toFixed(3);
    const way = hookLoad.sensor.now && hookLoad.sensor.now.moved === "lowering" ? "down" : "up";
    const area = areas["sensor-survey"];
    area.value = `${area.value.trim()}\n${height},${shown},${way}`.trim() + "\n";
    input.value = "";
    judge();
  };

  const judge = async () => {
    for (const [id, key] of Object.entries(TEXT_KEYS)) hookLoad.sensor.keep(key, areas[id].value);
    round += 1;
    const mine = round;
    const holder = hookLoad.element("sensor-survey-told");
    const [heights, tally] = [areas["sensor-survey"].value, areas["sensor-tally"].value];
    if (!heights.trim() && !tally.trim()) {
      holder.replaceChildren();
      return;
    }
    const told = await hookLoad.sensor.post("survey", { survey: heights, tally });
    if (mine !== round) return;
    const faults = [...(told.faults || []), ...(told.error ? [told.error] : [])];
    holder.replaceChildren(
      ...faults.map((words) => part("p", "sensor-fault", words)),
      ...(told.lines || []).map((words) => part("p", told.asks ? "sensor-fault" : "", words))
    );
  };

  survey.start = () => {
    const labels = {
      "sensor-survey": "Heights by tape, shown, up or down",
      "sensor-tally": "Lengths of stands by the tally",
    };
    for (const [id, label] of Object.entries(labels)) {
      const area = part("textarea");
      area.spellcheck = false;
      area.setAttribute("aria-label", label);
      area.placeholder = id === "sensor-survey" ? "by tape, shown, up or down" : "28.52";
      area.value = hookLoad.sensor.kept(TEXT_KEYS[id]);
      area.addEventListener("input", judge);
      hookLoad.element(id).append(area);
      areas[id] = area;
    }
    hookLoad.element("sensor-take-taped").addEventListener("click", taken);
    judge();
  };
})();
