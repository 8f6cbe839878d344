/* The Sensor page: heights by tape against what the counter shows, as lines of text. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const TEXT_KEY = "hook-load-survey";
  const survey = (hookLoad.sensorSurvey = {});
  let area = null;
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
    area.value = `${area.value.trim()}\n${height},${shown},${way}`.trim() + "\n";
    input.value = "";
    judge();
  };

  const judge = async () => {
    hookLoad.sensor.keep(TEXT_KEY, area.value);
    round += 1;
    const mine = round;
    const holder = hookLoad.element("sensor-survey-told");
    if (!area.value.trim()) {
      holder.replaceChildren();
      return;
    }
    const told = await hookLoad.sensor.post("survey", { survey: area.value });
    if (mine !== round) return;
    const faults = [...(told.faults || []), ...(told.error ? [told.error] : [])];
    holder.replaceChildren(
      ...faults.map((words) => part("p", "sensor-fault", words)),
      ...(told.lines || []).map((words) => part("p", told.asks ? "sensor-fault" : "", words))
    );
  };

  survey.start = () => {
    area = part("textarea");
    area.spellcheck = false;
    area.setAttribute("aria-label", "Heights by tape, shown, up or down");
    area.placeholder = "by tape, shown, up or down";
    area.value = hookLoad.sensor.kept(TEXT_KEY);
    area.addEventListener("input", judge);
    hookLoad.element("sensor-survey").append(area);
    hookLoad.element("sensor-take-taped").addEventListener("click", taken);
    judge();
  };
})();
