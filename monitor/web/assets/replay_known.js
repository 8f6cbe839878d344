/* Beside the figures: what was known at the moment, what is known of it now, and notes. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const known = (hookLoad.replayKnown = { notes: [] });
  const AROUND_US = 3600e6 * 3;
  const SIGNED = { overpull: 1, zero_drift: 1, stuck: 1, slack_off: -1, weight_loss: -1, light: -1 };

  known.part = (name, className, text) => {
    const element = document.createElement(name);
    if (className) element.className = className;
    if (text !== undefined) element.textContent = text;
    return element;
  };
  const { part } = known;

  /* A button that leads to its moment. */
  known.leads = (us, className, text) => {
    const button = part("button", className, text);
    button.type = "button";
    button.addEventListener("click", () => hookLoad.replay.seek(us));
    return button;
  };

  const name = (event) => {
    const words = hookLoad.facts.event_names[event.kind] || event.kind;
    const sign = SIGNED[event.kind];
    if (!sign || event.peak_excess_N === null) return words;
    const load = hookLoad.format(sign * event.peak_excess_N, "force", {
      decimals: hookLoad.loadDecimals(), signed: true,
    });
    return `${words} ${load}`;
  };

  const kindOf = (event) => {
    if (event.end_us !== null && event.acknowledged_us !== null) return "over";
    return event.alarm ? "act-now" : "be-ready";
  };

  known.paint = () => {
    const replay = hookLoad.replay;
    if (!replay.now || !replay.told) return;
    then(replay.now.events);
    now(replay.told.known || { events: [], stand: null });
    notes();
  };

  const fill = (id, rows, none) =>
    document.getElementById(id).replaceChildren(...(rows.length ? rows : [part("div", "soft", none)]));

  const then = (events) => {
    const rows = events.slice(0, 5).map((event) => {
      const row = known.leads(event.start_us, "replay-row");
      row.append(part("span", `mark ${kindOf(event)}`));
      const state = event.end_us === null ? ", goes on" : "";
      row.append(part("span", "replay-what", name(event) + state));
      row.append(part("span", "soft", hookLoad.replay.clock(event.start_us)));
      return row;
    });
    fill("replay-then", rows, "No event yet");
  };

  /* What hindsight says of stuck pipe, once it has been asked for. */
  const stories = new Map();
  const storyOf = (event) => {
    if (stories.has(event.id)) return stories.get(event.id);
    stories.set(event.id, "");
    const replay = hookLoad.replay;
    const [first, last] = replay.record.span;
    const end = event.end_us === null ? last : event.end_us;
    replay
      .ask("spell", {
        event: event.id,
        from_us: Math.max(first, event.start_us - AROUND_US),
        to_us: Math.min(last, end + AROUND_US) + 1,
      })
      .then(
        (found) => `${found.outcome} after ${found.pulls.filter((one) => one.kind === "pull").length} pulls. ${found.words}`,
        (error) => (error instanceof hookLoad.Refused ? error.message : "")
      )
      .then((words) => {
        stories.set(event.id, words);
        if (words) known.paint();
      });
    return "";
  };

  const now = ({ events, stand }) => {
    const at = hookLoad.replay.at;
    const rows = events.map((event) => {
      const row = part("div", "replay-fact");
      row.append(part("div", "replay-what", name(event)));
      const words = [];
      if (event.raised_us > at) {
        words.push(`began before this moment, raised ${hookLoad.spell((event.raised_us - at) / 1e6)} after it`);
      } else {
        words.push(`raised ${hookLoad.spell((event.raised_us - event.start_us) / 1e6)} after it began`);
      }
      if (event.peak_excess_N !== null) words.push(`greatest at ${hookLoad.replay.clock(event.peak_time_us)}`);
      words.push(
        event.end_us === null
          ? "not over"
          : `over after ${hookLoad.spell((event.end_us - event.start_us) / 1e6)}`
      );
      if (event.acknowledged_by) words.push(`seen by ${event.acknowledged_by}`);
      row.append(part("div", "soft", words.join("; ")));
      if (event.kind === "stuck") {
        const story = storyOf(event);
        if (story) row.append(part("div", "soft", `Looking back: ${story}`));
      }
      return row;
    });
    if (stand !== null) rows.push(standRow(stand));
    fill("replay-now", rows, "Nothing was amiss");
  };

  const load = (si) =>
    si === null
      ? "not known"
      : `${hookLoad.format(si, "force", { decimals: hookLoad.loadDecimals() })} ${hookLoad.unit("force")}`;

  const standRow = (stand) => {
    const row = part("div", "replay-fact");
    row.append(part("div", "replay-what", `Stand ${stand.stand}, ${stand.way}`));
    const words = [`moving weight ${load(stand.moving_weight_N)}`];
    if (stand.expected_weight_N !== null) words.push(`expected ${load(stand.expected_weight_N)}`);
    if (stand.max_overpull_N > 0) words.push(`most over ${load(stand.max_overpull_N)}`);
    if (stand.max_slack_off_N > 0) words.push(`most under ${load(stand.max_slack_off_N)}`);
    row.append(part("div", "soft", words.join("; ")));
    return row;
  };

  /* ---- notes ------------------------------------------------------------------------- */

  const notes = () => {
    const rows = known.notes.map((note) => {
      const row = known.leads(note.from_us, "replay-fact replay-note");
      row.append(part("div", "replay-what", note.text));
      const until = note.to_us === null ? "" : ` to ${hookLoad.replay.clock(note.to_us)}`;
      const waits = note.seq === 0 ? ", waits for a recorder" : "";
      row.append(
        part("div", "soft", `${note.who}, on ${hookLoad.replay.stamp(note.from_us)}${until}${waits}`)
      );
      return row;
    });
    fill("replay-notes", rows, "No notes in the span shown");
  };

  known.note = () => {
    const replay = hookLoad.replay;
    const meant = replay.meant();
    const { from, to } = meant.isMarked ? meant : { from: replay.at, to: null };
    const iso = (us) => new Date(us / 1000).toISOString();
    const span = to === null ? iso(from) : `${iso(from)}/${iso(to)}`;
    const until = to === null ? "" : ` to ${replay.clock(to)}`;
    replay.pause();
    hookLoad.dialog.ask({
      title: to === null ? "Note on this moment" : "Note on the marked span",
      words: `${replay.stamp(from)}${until}. It goes into the journal under your name and alters nothing.`,
      amount: "Note",
      amountNeeded: true,
      confirm: () => "Keep the note",
      act: (given) => ({ act: "note", text: `${span} ${given.amount}` }),
      done: "Note kept",
      then: () => replay.loadWindow().then(replay.paint),
    });
  };
})();
