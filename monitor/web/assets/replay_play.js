/* Playing, stepping, and the keyboard. Time goes on in the browser at the chosen speed; rows
   are fetched a few seconds ahead, at most ten a second whatever the speed. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const replay = hookLoad.replay;
  const SPEEDS = [0.25, 0.5, 1, 2, 5, 10, 30, 60, 120, 240];
  const TICK_MS = 100;
  const LEAST_STEP_US = 50000;
  const FRAMES = 60;
  const ASK_AGAIN_MS = 1000;

  const play = (hookLoad.replayPlay = { isOn: false, speed: 1, rows: [], covered: 0, ticks: 0 });
  let base = { at: 0, ms: 0 };
  let timer = null;
  let fetching = false;
  let turn = 0;
  let toldMs = 0;

  replay.setSpeed = (speed) => {
    const wanted = Math.min(Math.max(speed, SPEEDS[0]), SPEEDS[SPEEDS.length - 1]);
    play.speed = wanted;
    hookLoad.setText(document.getElementById("replay-speed"), `${wanted}\u00d7`);
    if (play.isOn) begin();
  };

  const faster = (by) => {
    let at = SPEEDS.findIndex((one) => one >= play.speed);
    if (SPEEDS[at] !== play.speed && by > 0) at -= 1;
    replay.setSpeed(SPEEDS[Math.min(Math.max(at + by, 0), SPEEDS.length - 1)]);
  };

  replay.pause = () => {
    if (!play.isOn) return;
    play.isOn = false;
    turn += 1;
    clearTimeout(timer);
    label();
  };

  const start = () => {
    if (replay.at >= replay.record.span[1]) return;
    play.isOn = true;
    begin();
    label();
    tick();
  };

  const begin = () => {
    turn += 1;
    base = { at: replay.at, ms: performance.now() };
    play.rows = [];
    play.covered = replay.at;
    fetching = false;
    toldMs = 0;
    fill();
  };

  const label = () => {
    const button = document.getElementById("replay-play");
    hookLoad.setText(button, play.isOn ? "Pause" : "Play");
    button.setAttribute("aria-pressed", play.isOn);
  };

  const stepUs = () => Math.max(Math.round(play.speed * TICK_MS * 1000), LEAST_STEP_US);

  const fill = async () => {
    if (fetching || play.covered >= replay.record.span[1]) return;
    fetching = true;
    const mine = turn;
    const found = await replay.careful(() =>
      replay.ask("frames", { from_us: play.covered, step_us: stepUs(), count: FRAMES })
    );
    if (mine !== turn) return;
    fetching = false;
    if (found === null) {
      replay.pause();
      return;
    }
    play.rows.push(...found.rows);
    play.covered = found.to_us;
  };

  const tick = () => {
    timer = setTimeout(tick, TICK_MS);
    const ms = performance.now();
    let at = Math.round(base.at + (ms - base.ms) * 1000 * play.speed);
    const [, last] = replay.record.span;
    if (at > play.covered && play.covered < last) {
      at = play.covered; // rows are still on their way: time waits for them
      base = { at, ms };
    }
    replay.at = Math.min(at, last);
    if (play.covered - replay.at < (FRAMES / 2) * stepUs()) fill();
    show(ms);
    if (replay.at >= last) replay.pause();
  };

  const show = (ms) => {
    while (play.rows.length > 1 && play.rows[1][1] <= replay.at) play.rows.shift();
    const first = play.rows[0];
    if (first && first[1] <= replay.at && replay.now) replay.now.row = replay.rowOf(first);
    if (replay.at > replay.to - 0.04 * (replay.to - replay.from)) turnPage();
    play.ticks += 1;
    replay.paintFigures();
    hookLoad.replayStrips.cursor();
    hookLoad.timeline.paint();
    if (ms - toldMs > ASK_AGAIN_MS) {
      toldMs = ms;
      tellAgain();
    }
  };

  /* Events, limits and what is known now go on too, once a second. */
  const tellAgain = async () => {
    const mine = turn;
    const told = await replay.careful(() => replay.ask("moment", { at_us: replay.at }));
    if (mine !== turn || told === null) return;
    replay.take(told, false);
    hookLoad.replayKnown.paint();
    hookLoad.story.mark();
  };

  let turning = false;
  const turnPage = async () => {
    if (turning || replay.to > replay.record.span[1]) return;
    turning = true;
    replay.zoom(replay.to - replay.from, replay.at, 0.1);
    await replay.loadWindow();
    turning = false;
    hookLoad.replayStrips.paint();
  };

  /* ---- what is pressed --------------------------------------------------------------- */

  const toggle = () => (play.isOn ? replay.pause() : start());
  const mark = (end) => {
    replay.marks[end] = replay.marks[end] === replay.at ? null : replay.at;
    const { from, to } = replay.marks;
    if (from !== null && to !== null && to <= from) replay.marks[end === "from" ? "to" : "from"] = null;
    replay.paint();
    const meant = replay.meant();
    replay.say(
      meant.isMarked
        ? `Marked: ${replay.stamp(meant.from)} to ${replay.clock(meant.to)}`
        : "Mark the start and the end of a span"
    );
  };

  const ACTS = {
    play: toggle,
    "row-before": () => replay.step(-1),
    "row-after": () => replay.step(1),
    "event-before": () => replay.jump("event", -1),
    "event-after": () => replay.jump("event", 1),
    "stand-before": () => replay.jump("stand", -1),
    "stand-after": () => replay.jump("stand", 1),
    slower: () => faster(-1),
    faster: () => faster(1),
    wider: () => replay.closer(-1),
    closer: () => replay.closer(1),
    "mark-from": () => mark("from"),
    "mark-to": () => mark("to"),
    note: () => hookLoad.replayKnown.note(),
    report: () => fetchFile("report.html", "the report"),
    csv: () => fetchFile("data.zip", "the data"),
    xlsx: () => fetchFile("data.xlsx", "the workbook"),
  };

  /* A file comes as a download; a refusal is said in words and leaves the page as it is. */
  const fetchFile = (name, words) =>
    replay.careful(async () => {
      const { from, to } = replay.meant();
      replay.say(`Making ${words} of ${replay.stamp(from)} to ${replay.stamp(to)} \u2026`);
      const asked = new URLSearchParams({
        from_us: Math.round(from), to_us: Math.round(to) + 1, ...hookLoad.workbench.choice(),
      });
      const answer = await fetch(`/replay/${name}?${asked}`, { cache: "no-store" });
      if (!answer.ok) throw new hookLoad.Refused((await answer.json()).error);
      const link = document.createElement("a");
      link.href = URL.createObjectURL(await answer.blob());
      const told = answer.headers.get("Content-Disposition") || "";
      link.download = (told.match(/filename="(.+)"/) || [])[1] || name;
      link.click();
      setTimeout(() => URL.revokeObjectURL(link.href), 10000);
      replay.say(`Saved ${link.download}`);
    });

  const KEYS = {
    " ": toggle,
    ArrowLeft: (shift) => (shift ? replay.seek(replay.at - 1e7) : replay.step(-1)),
    ArrowRight: (shift) => (shift ? replay.seek(replay.at + 1e7) : replay.step(1)),
    ArrowUp: () => faster(1),
    ArrowDown: () => faster(-1),
    e: (shift) => replay.jump("event", shift ? -1 : 1),
    s: (shift) => replay.jump("stand", shift ? -1 : 1),
    "+": () => replay.closer(1),
    "=": () => replay.closer(1),
    "-": () => replay.closer(-1),
    0: () => replay.whole(),
    Home: () => replay.seek(replay.record.span[0]),
    End: () => replay.seek(replay.record.span[1]),
    "[": () => mark("from"),
    "]": () => mark("to"),
  };

  const pressed = (event) => {
    if (!replay.isShown || !replay.record || event.ctrlKey || event.altKey || event.metaKey) return;
    const target = event.target;
    if (target.closest("input, select, textarea, dialog")) return;
    if (target.tagName === "BUTTON" && (event.key === " " || event.key === "Enter")) return;
    const act = KEYS[event.key.length === 1 ? event.key.toLowerCase() : event.key];
    if (!act) return;
    event.preventDefault();
    act(event.shiftKey);
  };

  replay.start = () => {
    for (const [name, act] of Object.entries(ACTS)) {
      const button = document.getElementById(`replay-${name}`);
      button.addEventListener("click", (event) => {
        if (replay.record) act();
        if (event.detail) button.blur(); // pressed by hand: the space bar goes on playing
      });
    }
    document.addEventListener("keydown", pressed);
    window.addEventListener("resize", () => replay.paint());
    hookLoad.timeline.start();
    hookLoad.replayStrips.start();
    hookLoad.story.start();
  };
})();
