/* What people press: seen, and zero weight on bit. Each goes to the recorder's inbox. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const ASK_AGAIN_MS = 5000;
  const LOOK_MS = 250;
  const PATIENCE_MS = 8000;
  const acts = (hookLoad.acts = { waiting: new Set() });
  let answerTimer = null;

  /* Over whatever is open: an answer behind the alarms' panel would be none. */
  acts.say = (words) => {
    show(words);
    clearTimeout(answerTimer);
    answerTimer = setTimeout(() => show(""), 6000);
  };

  const show = (words) => {
    const holder = document.getElementById("act-answer");
    hookLoad.setText(holder, words);
    if (!holder.showPopover) return;
    holder.popover = "manual";
    if (holder.matches(":popover-open")) holder.hidePopover();
    if (words) holder.showPopover();
  };

  /* What the server says of an act: its id, or an error in words. */
  acts.send = async (asked) => {
    try {
      const answer = await fetch("/act", {
        method: "POST",
        headers: { "Content-Type": "application/json" },
        body: JSON.stringify(asked),
      });
      return await answer.json();
    } catch (error) {
      if (!(error instanceof TypeError) && !(error instanceof SyntaxError)) throw error;
      return { error: "no connection to the server" };
    }
  };

  /* Whether the recorder has taken an act, and its reason where it refused. */
  acts.became = async (told, current) => {
    const until = performance.now() + PATIENCE_MS;
    while (performance.now() < until && current()) {
      await new Promise((done) => setTimeout(done, LOOK_MS));
      try {
        const found = await fetch(`/act.json?id=${told.id}&wall_us=${told.wall_us}`, {
          cache: "no-store",
        });
        const answer = await found.json();
        if (answer.taken) return answer;
      } catch (error) {
        if (!(error instanceof TypeError) && !(error instanceof SyntaxError)) throw error;
      }
    }
    return { taken: false };
  };

  const send = async (act, text) => {
    const told = await acts.send({ act, text });
    if (told.error === undefined) return told.id;
    acts.say(`Not taken: ${told.error}`);
    return null;
  };

  /* Grey at once; if the recorder has not taken it soon, it asks again. */
  acts.acknowledge = async (id) => {
    acts.waiting.add(id);
    hookLoad.figures.soon();
    const taken = await send("acknowledge", id);
    setTimeout(() => {
      acts.waiting.delete(id);
      const event = hookLoad.now.events.find((one) => one.id === id);
      if (taken !== null && event && event.acknowledged_us === null) {
        acts.say("Not yet taken by the recorder: press Seen again");
      }
    }, taken === null ? 0 : ASK_AGAIN_MS);
  };

  /* Pressed twice, because a wrong zero makes every weight on bit wrong. */
  acts.start = () => {
    const button = hookLoad.element("tare");
    const words = button.textContent;
    let timer = null;
    const rest = () => {
      clearTimeout(timer);
      timer = null;
      button.textContent = words;
      button.classList.remove("asked");
    };
    button.addEventListener("click", async () => {
      if (timer === null) {
        button.textContent = "Off bottom? Press again";
        button.classList.add("asked");
        timer = setTimeout(rest, ASK_AGAIN_MS);
        return;
      }
      rest();
      if ((await send("tare", "by hand")) !== null) {
        acts.say("Zero weight on bit: sent to the recorder");
      }
    });
  };
})();
