/* Alarms: which one asks, how it is called, and the panel with all of them. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const alarms = (hookLoad.alarms = { journal: [], shown: "" });
  const NOT_SEEN = ["unacknowledged", "returned", "latched_unacknowledged"];
  const PRESENT = [...NOT_SEEN, "acknowledged", "latched_acknowledged"];
  const WEIGHT = { high: 3, medium: 2, low: 1 };
  const WORDS = {
    unacknowledged: "not seen",
    acknowledged: "seen, goes on",
    returned: "over, not seen",
    latched_unacknowledged: "over, not seen, to be reset",
    latched_acknowledged: "over, seen, to be reset",
    normal: "over",
    shelved: "shelved",
    suppressed: "suppressed",
    out_of_service: "out of service",
    on: "on",
    off: "off",
    muted: "muted",
    yes: "begins",
    no: "over",
    within: "within it",
    beyond: "beyond it",
  };
  const OTHER_NAMES = {
    sound: "Sound",
    flood: "Many alarms",
    stuck_mode: "Working stuck pipe",
    agreed_overpull: "Agreed overpull",
    agreed_slack_off: "Agreed slack-off",
  };
  const SPANS = ["10 min", "30 min", "1 h", "3 h"];

  const status = () => hookLoad.now.status.alarms || {};
  const stuck = () => hookLoad.now.status.stuck_mode || {};

  alarms.name = (kind) => hookLoad.facts.event_names[kind] || OTHER_NAMES[kind] || kind;
  alarms.state = (state) => WORDS[state] || state;
  alarms.present = () => hookLoad.now.alarms.filter((alarm) => PRESENT.includes(alarm.state));
  alarms.of = (event) => hookLoad.now.alarms.find((alarm) => alarm.event_id === event.id);
  alarms.isShelved = (kind) => (status().shelved || []).some((one) => one.kind === kind);
  alarms.isOut = (kind) => (status().out_of_service || []).some((one) => one.kind === kind);

  const isWaiting = (alarm) =>
    hookLoad.acts.waiting.has(alarm.id) || hookLoad.acts.waiting.has(alarm.event_id);
  alarms.isUnseen = (alarm) => NOT_SEEN.includes(alarm.state) && !isWaiting(alarm);

  /* Pulls are meant while stuck pipe is worked: their figures stand large beside the card. */
  const isMeant = (alarm) => hookLoad.stuck.isMeant(alarm.kind);

  /* The most urgent that nobody has seen; of two as urgent the one that goes on, the first up. */
  alarms.asking = () => {
    const rank = (alarm) =>
      100 * WEIGHT[alarm.priority] + (alarm.state === "unacknowledged" ? 10 : 0) + alarm.first_up;
    return alarms.present()
      .filter((alarm) => alarms.isUnseen(alarm) && !isMeant(alarm))
      .reduce((most, one) => (!most || rank(one) > rank(most) ? one : most), null);
  };

  alarms.severity = (alarm) => (alarm.priority === "low" ? "be-ready" : "act-now");

  /* What more is to be said of one: state, first up, how often, what was agreed. */
  alarms.notes = (alarm) => {
    const others = alarms.present().filter((one) => alarms.isUnseen(one)).length - 1;
    const notes = [alarms.state(alarm.state)];
    if (alarm.first_up && others > 0) notes.push("first up");
    if (alarm.times > 1) notes.push(`came ${alarm.times} times`);
    if (others > 0) notes.push(`${others} more`);
    return notes.join(" \u00b7 ");
  };

  alarms.beyondAgreed = (kind) => {
    if (!(status().beyond_agreed || []).includes(kind)) return "";
    const agreed = hookLoad.now.status.agreed_N || {};
    const limit = hookLoad.coarse(agreed[kind], "force", false);
    const sign = kind === "overpull" ? "+" : "\u2212";
    return `Beyond the agreed ${sign}${limit}${agreed.who ? `: call ${agreed.who}` : ""}`;
  };

  const part = (...given) => hookLoad.part(...given);
  const button = (words, act, name) => {
    const one = part("button", `button ${name || ""}`, words);
    one.type = "button";
    one.addEventListener("click", act);
    return one;
  };

  /* ---- acts */

  alarms.shelve = (kind) =>
    hookLoad.dialog.ask({
      title: `Shelve: ${alarms.name(kind)}`,
      words:
        "It stays silent and off the banner until its time is over; the event is logged all " +
        "the same. Then it asks again where it still goes on.",
      choices: SPANS.filter((span) => spanS(span) <= (status().longest_shelf_s || 0)),
      amount: "Reason",
      amountNeeded: true,
      confirm: ({ choice }) => (choice ? `Shelve for ${choice}` : "Shelve"),
      act: ({ choice, amount }) => ({ act: "shelve", number: choice, text: `${kind}: ${amount}` }),
      done: `Shelved: ${alarms.name(kind)}`,
    });

  const spanS = (span) => Number.parseFloat(span) * (span.endsWith("h") ? 3600 : 60);

  const send = async (act, done) => {
    const told = await hookLoad.acts.send(act);
    const answer = told.error ? told : await hookLoad.acts.became(told, () => true);
    if (answer.error) hookLoad.acts.say(`Not taken: ${answer.error}`);
    else if (answer.refused) hookLoad.acts.say(`Refused: ${answer.refused}`);
    else hookLoad.acts.say(answer.taken ? done : "Not yet taken by the recorder: see that it runs");
  };

  alarms.unshelve = (kind) =>
    send({ act: "unshelve", text: kind }, `Unshelved: ${alarms.name(kind)}`);
  alarms.reset = (alarm) =>
    send({ act: "reset_alarm", text: alarm.id }, `Reset: ${alarms.name(alarm.kind)}`);

  alarms.mute = () => {
    const longest = status().longest_mute_s || 300;
    const span = longest < 60 ? `${Math.floor(longest)} s` : `${Math.floor(longest / 60)} min`;
    if ((status().sound || {}).muted_until_us) {
      send({ act: "mute", text: "off" }, "The sound is on again");
    } else {
      send({ act: "mute", number: span, text: "" },
        `No sound for ${span}, but over a rating and near crown and floor`);
    }
  };

  alarms.testSound = async () => {
    const was = await hookLoad.sound.test();
    hookLoad.acts.say(
      was
        ? "The sound has left this page: was it heard? Else see to the loudspeaker"
        : `No sound: ${hookLoad.sound.lacks() || "it did not reach the loudspeaker"}`
    );
    hookLoad.setText("sound-tested", was ? "sound sent" : "no sound");
  };

  /* ---- the panel */

  const panel = () => hookLoad.element("alarm-panel");

  alarms.open = () => {
    if (panel().open) return;
    panel().showModal();
    loadJournal();
    alarms.shown = "";
    alarms.show();
  };

  const loadJournal = async () => {
    try {
      const answer = await fetch("/alarm-journal.json", { cache: "no-store" });
      if (answer.ok) alarms.journal = (await answer.json()).journal;
    } catch (error) {
      if (!(error instanceof TypeError)) throw error; // TypeError: the server is away
    }
    alarms.shown = "";
    alarms.show();
  };

  alarms.changed = () => {
    if (panel().open) loadJournal();
  };

  alarms.show = () => {
    const words = hookLoad.sound.words();
    const aside = (status().shelved || []).length;
    hookLoad.setText("alarms-state", words + (aside ? `, ${aside} shelved` : ""));
    hookLoad.setClass("go-alarms", "doubt-button", hookLoad.sound.lacks() !== "");
    elsewhere();
    if (!panel().open) return;
    hookLoad.setText("sound-state", words);
    const muted = (status().sound || {}).muted_until_us;
    hookLoad.setText("sound-mute", muted ? "Sound on" : "Mute");
    const state = JSON.stringify([hookLoad.now.alarms, status(), alarms.journal]);
    if (state === alarms.shown) return;
    alarms.shown = state;
    fill("alarms-present", alarms.present().map(presentRow), "No alarm is present");
    fill("alarms-shelved", (status().shelved || []).map(shelvedRow), "None is shelved");
    fill("alarms-kinds", (status().kinds || []).map(kindRow), "");
    fill("alarms-journal", alarms.journal.map(journalRow), "Nothing yet");
  };

  /* On another page a sound must not be without its reason. */
  const elsewhere = () => {
    const alarm = alarms.asking();
    const holder = hookLoad.element("alarm-elsewhere");
    const away = alarm === null || !hookLoad.element("page-floor").classList.contains("away");
    holder.classList.toggle("away", away);
    if (away) return;
    holder.className = `alarm-elsewhere ${alarms.severity(alarm)}`;
    hookLoad.setText("alarm-elsewhere-words", `${alarms.name(alarm.kind)}, ${alarms.state(alarm.state)}`);
  };

  const fill = (id, rows, none) =>
    hookLoad.element(id).replaceChildren(...(rows.length ? rows : [part("div", "soft", none)]));

  const row = (mark, words, note, ...buttons) => {
    const line = part("div", "alarm-row");
    const text = part("div", "alarm-words");
    text.append(part("div", "alarm-name", words), part("div", "soft", note));
    line.append(part("span", `mark ${mark}`), text, ...buttons);
    return line;
  };

  const presentRow = (alarm) => {
    const acts = [];
    if (NOT_SEEN.includes(alarm.state)) {
      acts.push(button("Seen", () => hookLoad.acts.acknowledge(alarm.event_id || alarm.id)));
    }
    if (alarm.state === "latched_acknowledged") {
      acts.push(button("Reset", () => alarms.reset(alarm)));
    }
    const since = `since ${hookLoad.moment(alarm.raised_us, true)}, ${alarm.priority}`;
    const mark = alarms.isUnseen(alarm) ? alarms.severity(alarm) : "over";
    const first = alarm.first_up ? ", first up" : "";
    return row(mark, `${alarms.name(alarm.kind)}: ${alarms.state(alarm.state)}${first}`, since, ...acts);
  };

  const shelvedRow = (one) =>
    row(
      one.active ? "be-ready" : "over",
      `${alarms.name(one.kind)}: until ${hookLoad.moment(one.until_us)}`,
      [one.active ? "goes on now" : "", one.reason, one.who].filter(Boolean).join(", "),
      button("Unshelve", () => alarms.unshelve(one.kind))
    );

  const kindRow = (one) => {
    const out = (status().out_of_service || []).find((each) => each.kind === one.kind);
    const notes = [`priority ${one.priority}`];
    if (one.latching) notes.push("stays until reset");
    if (out) notes.push(`out of service: ${out.reason}`);
    if ((status().suppressed || []).includes(one.kind)) notes.push("suppressed: slip and cut");
    if (!one.can_be_shelved) notes.push(`never shelved or muted; ${status().no_saver}`);
    const canShelve = one.can_be_shelved && !out && !alarms.isShelved(one.kind);
    const acts = canShelve ? [button("Shelve", () => alarms.shelve(one.kind))] : [];
    return row("none", alarms.name(one.kind), notes.join(", "), ...acts);
  };

  const journalRow = (change) => {
    const line = part("div", "journal-row");
    const states = `${alarms.state(change.before)} \u2192 ${alarms.state(change.after)}`;
    line.append(
      part("span", "soft", hookLoad.moment(change.time_us, true)),
      part("span", "", `${alarms.name(change.kind)}: ${states}`),
      part("span", "soft", [change.cause, change.who].filter(Boolean).join(", "))
    );
    return line;
  };

  /* S: seen. A: all alarms. Not while somebody writes. */
  const keys = (event) => {
    const busy = event.target.closest("input, textarea, select, dialog");
    if (busy || event.ctrlKey || event.altKey || event.metaKey || event.repeat) return;
    const seen = document.querySelector("#event-card .seen");
    if (event.key.toLowerCase() === "s" && seen) seen.click();
    if (event.key.toLowerCase() === "a") alarms.open();
  };

  alarms.start = () => {
    hookLoad.sound.start();
    window.addEventListener("keydown", keys);
    const press = (id, act) => hookLoad.element(id).addEventListener("click", act);
    press("go-alarms", alarms.open);
    press("alarm-elsewhere", alarms.open);
    press("alarms-close", () => panel().close());
    press("sound-test", alarms.testSound);
    press("sound-mute", alarms.mute);
  };
})();
