/* Working stuck pipe: last pull and set-down held in large figures, pulls, the jar. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const stuck = (hookLoad.stuck = {});
  const ASK_AGAIN_MS = 5000;
  const JAR = {
    "not known": "not known",
    cocked: "cocked",
    due: "blow due",
  };
  const BY_HAND = "ended by a person";
  let ending = null;
  let wasOn = false;

  const mode = () => hookLoad.now.status.stuck_mode || {};
  const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);

  /* Who did it, without the address of the machine it was done at. */
  const person = (who) => (who || "").replace(/, (here|[0-9a-f]*[.:][0-9a-f.:]*)$/i, "");

  /* Pulls are meant while stuck pipe is worked: no colour for one within what was agreed. */
  stuck.isMeant = (kind) =>
    mode().on === true && ["overpull", "slack_off", "stuck"].includes(kind);
  stuck.isCalm = (kind) =>
    stuck.isMeant(kind) && typeof mode().agreed_pull_N === "number" && mode().over_agreed !== true;

  /* It may end itself while nobody looks at the button. */
  const tellEnd = (on) => {
    const { ended_why: why } = mode();
    if (wasOn && !on && why && why !== BY_HAND) {
      hookLoad.acts.say(`Stuck pipe ended: ${why}. The sound is live`);
    }
    wasOn = on === true;
  };

  stuck.show = (row, cover) => {
    const { on, proposed } = mode();
    tellEnd(on);
    if (on) document.documentElement.dataset.work = "stuck";
    else delete document.documentElement.dataset.work;
    if (ending === null) {
      const words = on ? "End stuck pipe" : proposed ? "Stuck? Work pipe" : "Stuck pipe";
      hookLoad.setText("stuck-mode", words);
      hookLoad.setClass("stuck-mode", "asked", proposed === true);
    }
    if (on) tiles(row, cover);
  };

  const tiles = (row, cover) => {
    const put = hookLoad.figures.put;
    const { agreed_pull_N: agreed, over_agreed: over, agreed_by: by, pulling, pulls } = mode();
    const load = (name) => row && hookLoad.stepped(name, row[name], "force");
    put("last-pull", load("last_pull_N"), cover || "none yet", { large: true });
    const limit = agreed === null ? "none agreed" : `agreed ${hookLoad.coarse(agreed, "force")}`;
    const notes = [over ? `over the ${limit}` : limit, person(by)];
    hookLoad.setText("last-pull-note", notes.filter(Boolean).join(", "));
    hookLoad.setClass("last-pull", "act-now", over === true);
    put("last-set-down", load("last_set_down_N"), cover || "none yet", { large: true });
    hookLoad.setText("stuck-where", hookLoad.figures.where(row, cover));
    put("pulls", row && String(row.pulls), cover);
    hookLoad.setText("pulls-note", pulling && pulls ? "pulling" : "");
    jar(row, cover);
  };

  const jar = (row, cover) => {
    const { given, state, since_us: since, wait_s: wait, blows } = mode().jar || {};
    const counted = blows ? `${blows} ${blows === 1 ? "blow" : "blows"}` : "";
    let [digits, words] = [null, given ? JAR[state] || state : counted || "no settings"];
    if (given && state === "working" && row) {
      const gone = Math.max(0, (row.time_us - since) / 1e6);
      if (wait === null) words = "working";
      else digits = hookLoad.duration(Math.max(0, Math.ceil(wait - gone)));
    }
    hookLoad.figures.put("jar", cover ? null : digits, cover || words);
    const counts = digits !== null && !cover;
    hookLoad.setText(document.querySelector("#jar .tile-title"), counts ? "Jar blow in" : given && counted ? `Jar, ${counted}` : "Jar");
  };

  const ask = () => {
    const { proposed, usual_agreed_N: usual } = mode();
    const unit = hookLoad.unit("force");
    const decimals = hookLoad.loadDecimals();
    const figure = hookLoad.format(usual, "force", { decimals });
    hookLoad.dialog.ask({
      title: "Work stuck pipe",
      words:
        (proposed ? "The string does not follow the block. " : "") +
        "While it lasts the sound is held, except over a rating, near the crown and near the " +
        "floor; pulls and set-downs are counted and kept. It ends itself once the string has " +
        "travelled 10 m freely.",
      choices: ["Work stuck pipe", ...(proposed ? ["Not now"] : [])],
      chosen: proposed ? "" : "Work stuck pipe",
      amount: `Greatest pull agreed, as hook load with its unit (${unit}); empty where none`,
      amountValue: figure === null ? "" : `${figure.replace(/,/g, "")} ${unit}`,
      confirm: ({ choice }) => choice || "Begin",
      act: ({ choice, amount }) =>
        choice === "Not now"
          ? { act: "stuck_mode", text: "not now" }
          : { act: "stuck_mode", text: "begin", number: amount },
      done: proposed ? "Answered" : "Working stuck pipe: the sound is held",
    });
  };

  const rest = () => {
    clearTimeout(ending);
    ending = null;
    hookLoad.setClass("stuck-mode", "asked", false);
    hookLoad.figures.soon();
  };

  /* Ended by two presses, because the sound comes back with it. */
  const press = async () => {
    if (!mode().on) {
      ask();
      return;
    }
    if (ending === null) {
      hookLoad.setText("stuck-mode", "End it? Press again");
      hookLoad.setClass("stuck-mode", "asked", true);
      ending = setTimeout(rest, ASK_AGAIN_MS);
      return;
    }
    rest();
    const told = await hookLoad.acts.send({ act: "stuck_mode", text: "end" });
    hookLoad.acts.say(told.error === undefined ? "Ended: the sound is live" : capital(told.error));
  };

  stuck.start = () => hookLoad.element("stuck-mode").addEventListener("click", press);
})();
