/* Catching a weight by one touch: what hangs there now is the weight of what the pipe does now.
   What became of it is said, and the newest weight of each kind stands on the Floor. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const caught = (hookLoad.caught = { busy: false });
  const NAMES = { hoisting: "Hoisting", lowering: "Lowering", rotating: "Rotating" };
  const LOOK_MS = 100;
  const PATIENCE_MS = 3000;

  const status = () => hookLoad.now.status.caught || { touches: 0, touched: "", weights: {} };
  const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);

  const written = (weight) =>
    hookLoad.format(weight.load_N, "force", { decimals: hookLoad.loadDecimals() });

  const notes = (weight) => {
    const depth = hookLoad.format(weight.depth_m, "length", { decimals: 0 });
    const where = depth === null ? "" : `${depth} ${hookLoad.unit("length")}`;
    return [weight.flow && `flow ${weight.flow}`, where].filter(Boolean).join("\n");
  };

  caught.show = () => {
    const { weights, touched } = status();
    for (const kind of Object.keys(NAMES)) {
      const weight = weights[kind];
      hookLoad.setText(`caught-${kind}-value`, weight ? written(weight) : "\u2013");
      hookLoad.setText(`caught-${kind}-note`, weight ? notes(weight) : "");
      const byTouch = Boolean(weight && weight.by === "touch" && kind === touched);
      hookLoad.setClass(`caught-${kind}`, "by-touch", byTouch);
    }
  };

  /* The status follows an act by a moment. */
  const counted = async (before) => {
    const until = performance.now() + PATIENCE_MS;
    while (performance.now() < until && status().touches === before) {
      await new Promise((done) => setTimeout(done, LOOK_MS));
    }
    return status().touches !== before;
  };

  const words = () => {
    const { weights, touched } = status();
    const weight = weights[touched];
    const flow = weight.flow ? `, flow ${weight.flow}` : "";
    return `${NAMES[touched]} weight ${written(weight)} ${hookLoad.unit("force")}${flow}: caught`;
  };

  const touch = async () => {
    if (caught.busy) return;
    caught.busy = true;
    const before = status().touches;
    const told = await hookLoad.acts.send({ act: "catch_weight", text: "" });
    if (told.error !== undefined) hookLoad.acts.say(`Not taken: ${told.error}`);
    else {
      hookLoad.acts.say("Weight of this moment: sent to the recorder");
      const answer = await hookLoad.acts.became(told, () => true);
      if (answer.refused) hookLoad.acts.say(capital(answer.refused));
      else if (!answer.taken) hookLoad.acts.say("Not yet taken by the recorder: touch again");
      else if (await counted(before)) {
        caught.show();
        hookLoad.acts.say(words());
      }
    }
    caught.busy = false;
  };

  caught.start = () => {
    for (const id of ["catch-on-floor", "catch-weight"]) {
      document.getElementById(id).addEventListener("click", touch);
    }
  };
})();
