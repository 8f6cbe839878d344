/* Bit depth put right by hand, and the pipe tally that it is compared with. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const depthActs = (hookLoad.depthActs = {});

  const tally = () => hookLoad.now.status.tally;
  const length = (metres, options) => hookLoad.format(metres, "length", options);

  /* What the tally says of the depth now: that of the newest row and the last difference. */
  const byTally = (depth_m) => {
    const { difference_m: difference = null } = tally() || {};
    return difference === null || depth_m === null ? null : depth_m + difference;
  };

  depthActs.correct = () => {
    const row = hookLoad.now.row;
    const depth_m = row ? row.bit_depth_m : null;
    const [unit, now, tallied] = [hookLoad.unit("length"), length(depth_m), length(byTally(depth_m))];
    const says = tallied === null ? "" : ` By the tally it is ${tallied} ${unit}.`;
    hookLoad.dialog.ask({
      title: "Put the bit depth right",
      words:
        `${now === null ? "The bit depth is not known." : `Now: ${now} ${unit}.`}${says} ` +
        "Bit depth is counted on from what you give, from this moment; the rows before keep theirs.",
      amount: `Measured depth of the bit, with its unit (${unit})`,
      amountValue: tallied === null ? "" : `${tallied.replace(/,/g, "").replace("\u2212", "-")} ${unit}`,
      amountNeeded: true,
      reason: true,
      confirm: ({ amount }) => (amount ? `Bit depth: ${amount}` : "Put right"),
      act: ({ amount, reason }) => ({ act: "bit_depth", number: amount, text: reason }),
      done: "Bit depth put right",
    });
  };

  depthActs.giveTally = () => {
    const unit = hookLoad.unit("length");
    const { joints = null, of = null, is_lost: lost = false } = tally() || {};
    const inHole = joints === null ? "not counted yet" : `${joints} of them in the hole`;
    const known =
      of === null ? "No tally is given. " : `${of} joints are listed, ${lost ? "the count is lost" : inHole}. `;
    hookLoad.dialog.ask({
      title: "Give the pipe tally",
      words:
        `${known}Joints in the order they are run, the bit's end first, one a line: its number and ` +
        `its length (${unit}), or a TALLY.csv with its header. Bit depth is compared with it ` +
        "whenever slips are set, and never changed by it. Write none to take it away.",
      paste: "The joints, or none",
      confirm: ({ pasted }) => (pasted === "none" ? "Take the tally away" : "Give the tally"),
      act: ({ pasted }) => ({ act: "tally", text: pasted, number: unit }),
      done: "Tally changed: joints are counted from the next time slips are set",
    });
  };

  depthActs.start = () => {
    hookLoad.element("correct-depth").addEventListener("click", depthActs.correct);
    hookLoad.element("give-tally").addEventListener("click", depthActs.giveTally);
  };
})();
