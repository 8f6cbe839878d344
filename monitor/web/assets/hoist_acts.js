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

  const plain = (act, text, question) =>
    hookLoad.dialog.ask({ ...question, act: () => ({ act, text }), confirm: () => question.title });

  hoistActs.changeDuty = (duty) =>
    hookLoad.dialog.ask({
      title: "Change the duty",
      words: `Now: ${duty}. The least design factor of the drilling line goes by the duty.`,
      choices: hookLoad.facts.hoist_choices.duty.filter((one) => one !== duty),
      confirm: ({ choice }) => (choice ? `Duty: ${choice}` : "Change"),
      act: ({ choice }) => ({ act: "duty", text: choice }),
      done: "Duty changed",
    });

  hoistActs.changeCompensator = (state) => {
    const other = hookLoad.facts.hoist_choices.compensator.find((one) => one !== state);
    plain("compensator", other, {
      title: `Compensator is ${other}`,
      words: "Say so once it is: ratings, the height at the crown and depth go by it.",
      done: `Compensator: ${other}`,
    });
  };

  hoistActs.changePreparation = (name, state) => {
    const other = hookLoad.facts.hoist_choices[name].filter((one) => one !== state);
    hookLoad.dialog.ask({
      title: `Change: ${name}`,
      words: `Now: ${state || "not known"}. Say so once it is.`,
      choices: other,
      confirm: ({ choice }) => (choice ? `${name}: ${choice}` : "Change"),
      act: ({ choice }) => ({ act: "preparation", text: `${name}: ${choice}` }),
      done: `Changed: ${name}`,
    });
  };

  hoistActs.slipAndCut = {
    begin: () =>
      plain("slip_and_cut", "begin", {
        title: "Begin slip and cut",
        words:
          "The alarms are held until it is over, except over a rating, near the crown and near " +
          "the floor. Set the slips and hang the block off first.",
        done: "Slip and cut has begun: alarms are held",
      }),
    cancel: () =>
      plain("slip_and_cut", "cancel", {
        title: "Nothing was slipped",
        words: "The line is as it was before: the alarms become live at once.",
        done: "Slip and cut called off: alarms are live",
      }),
    end: () =>
      hookLoad.dialog.ask({
        title: "End slip and cut",
        words:
          "Then zero, line count, block position and wraps are to be confirmed. The alarms " +
          "become live once the first lift has shown the weight of the empty gear.",
        amount: "Length cut off, with its unit; empty where none was",
        confirm: () => "End slip and cut",
        act: ({ amount }) => ({ act: "slip_and_cut", text: "end", number: amount }),
        done: "Slip and cut has ended: confirm what is waited for",
      }),
  };

  const CONFIRMED = {
    zero: "The sensor reads zero with nothing on the lines, or what it should with empty gear.",
    "line count": "The lines between the blocks were counted.",
    "block position": "The height shown is the height of the block.",
    wraps: "Count the wraps left on the drum now, with the block where it is.",
  };

  hoistActs.canConfirm = (what) => what in CONFIRMED;

  hoistActs.confirm = (what) =>
    hookLoad.dialog.ask({
      title: `Confirm: ${what}`,
      words: CONFIRMED[what],
      amount: what === "wraps" ? "Wraps counted" : "",
      amountNeeded: what === "wraps",
      confirm: () => `Confirm ${what}`,
      act: ({ amount }) => ({
        act: "slip_and_cut", text: ["confirm", what, what === "wraps" ? amount : ""].join(" ").trim(),
      }),
      done: `Confirmed: ${what}`,
    });

  hoistActs.start = () =>
    hookLoad.element("change-lines").addEventListener("click", hoistActs.changeLines);
})();
