/* The acts of the Hoist page: another number of lines, another gear, slip and cut. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const hoistActs = (hookLoad.hoistActs = {});

  const hoist = () => hookLoad.now.status.hoist || {};

  hoistActs.changeLines = () => {
    const strung = (hoist().string_up || {}).lines_strung || hookLoad.now.status.lines_strung;
    if (!strung) {
      hookLoad.acts.say("The number of lines is not known yet");
      return;
    }
    hookLoad.dialog.ask({
      title: "Change the number of lines",
      words:
        `${strung} lines are strung. Hook load, what each part bears and the alarms change ` +
        "with it at once; the change goes into the journal and marks the charts.",
      lines: strung,
      reason: true,
      confirm: ({ number }) =>
        /^\d+$/.test(number) && Number(number) !== strung
          ? `Change ${strung} to ${number} lines`
          : "Change",
      act: ({ number, reason }, override) => ({
        act: "lines_strung", number, text: override ? `override: ${reason}` : reason,
      }),
      done: "Number of lines changed",
    });
  };

  hoistActs.changeGear = (gear) => {
    const weight = hookLoad.format(gear.weight_N, "force");
    hookLoad.dialog.ask({
      title: `Change to ${hookLoad.spoken(gear.name)}`,
      words:
        `What hangs on the lines with no pipe becomes ${weight} ${hookLoad.unit("force")}, ` +
        "on the spot. Confirm once the gear hangs.",
      confirm: () => `Change to ${hookLoad.spoken(gear.name)}`,
      act: () => ({ act: "gear", text: gear.name }),
      done: `Travelling gear: ${hookLoad.spoken(gear.name)}`,
    });
  };

  hoistActs.slipAndCut = () => {
    const active = (hoist().slip_and_cut || {}).active === true;
    hookLoad.dialog.ask({
      title: active ? "End slip and cut" : "Begin slip and cut",
      words: active
        ? "Then zero, line count and block position are to be confirmed. The alarms become " +
          "live only after the first lift has shown the empty gear's weight."
        : "The alarms are held until the work is ended. Hang the block off and set the slips " +
          "first: this page watches nothing meanwhile.",
      length: active,
      confirm: () => (active ? "End slip and cut" : "Begin slip and cut"),
      act: ({ length }) => ({
        act: "slip_and_cut", text: active ? "end" : "begin", number: active ? length : "",
      }),
      done: active ? "Slip and cut ended" : "Slip and cut begun: alarms are held",
    });
  };

  hoistActs.start = () => {
    hookLoad.element("change-lines").addEventListener("click", hoistActs.changeLines);
    hookLoad.element("slip-and-cut-button").addEventListener("click", hoistActs.slipAndCut);
  };
})();
