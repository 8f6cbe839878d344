/* The time line: above the whole record, below the part that is shown, with activity bands,
   stands, events and notes on it. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const timeline = (hookLoad.timeline = {});
  const PAD = 10;
  const WAYS = { out: "out", in: "in", drilled: "drilled" };
  // By activity code: unknown, in slips, hoisting, lowering, stationary, on bottom.
  const GROUND = {
    unknown: null, in_slips: "--rule", hoisting: "--trace-other", lowering: "--load",
    stationary: "--band", on_bottom: "--load-own",
  };
  const WORDS_ON = { hoisting: "--ground", lowering: "--ground", on_bottom: "--ground" };
  const NAMES = {
    in_slips: "in slips", hoisting: "hoisting", lowering: "lowering", stationary: "still",
    on_bottom: "on bottom",
  };
  let layout = null;

  const canvas = () => document.getElementById("replay-timeline");
  const across = (sheet, from, to) => (us) =>
    PAD + ((us - from) / (to - from)) * (sheet.width - 2 * PAD);

  timeline.paint = () => {
    const replay = hookLoad.replay;
    if (!replay.isShown || !replay.record || replay.at === null) return;
    const sheet = hookLoad.sheet(canvas());
    if (sheet === null) return;
    const unit = sheet.height / 100;
    layout = {
      width: sheet.width,
      whole: { y: 3 * unit, h: 22 * unit },
      part: { y: 42 * unit, h: 20 * unit },
      lane: 71 * unit,
      ticks: 91 * unit,
    };
    whole(sheet);
    part(sheet);
    canvas().setAttribute("aria-valuetext", replay.stamp(replay.at));
  };

  /* ---- the whole record --------------------------------------------------------------- */

  const whole = (sheet) => {
    const { record, from, to, at } = hookLoad.replay;
    const [first, last] = record.span;
    const x = across(sheet, first, Math.max(last, first + 1));
    const { y, h } = layout.whole;
    bands(sheet, record.bands, x, y, h, record.bands.step_us);
    for (const event of record.events) {
      const kind = severity(event);
      if (kind) sheet.box(x(event.start_us) - 1, y, 2, h, kind === "act-now" ? "--act-now" : "--be-ready");
    }
    const [left, right] = [x(Math.max(from, first)), x(Math.min(to, last))];
    sheet.frame(left - 1, y - 2, Math.max(right - left, 3) + 2, h + 4, "--ink", 2);
    cursor(sheet, x(at), y - 3, y + h + 3);
  };

  const bands = (sheet, found, x, y, h, stepUs) => {
    const { time_us: times, activity } = found;
    let at = 0;
    while (at < times.length) {
      let end = at + 1;
      while (end < times.length && activity[end] === activity[at] && times[end] - times[end - 1] <= 2 * gapOf(stepUs, times)) end++;
      const code = activity[at] === null ? "unknown" : hookLoad.facts.activities[activity[at]];
      const name = GROUND[code];
      const until = end < times.length ? Math.min(times[end], times[end - 1] + 2 * gapOf(stepUs, times)) : times[end - 1] + gapOf(stepUs, times);
      if (name) {
        const left = Math.max(PAD, x(times[at]));
        const right = Math.min(sheet.width - PAD, x(until));
        if (right > left) sheet.box(left, y, Math.max(right - left, 1), h, name);
      }
      at = end;
    }
    sheet.frame(PAD, y, sheet.width - 2 * PAD, h, "--rule", 1);
  };

  /* Width of an entry: of the bucket, or between single rows. */
  const gapOf = (stepUs, times) =>
    stepUs || (times.length > 1 ? Math.max(1e6, (times[times.length - 1] - times[0]) / (times.length - 1)) : 1e6);

  const severity = (event) => {
    if (["overpull", "slack_off", "stuck", "weight_loss", "light", "jar_blow", "over_rating"].includes(event.kind)) {
      return event.alarm ? "act-now" : "be-ready";
    }
    return "";
  };

  const cursor = (sheet, x, y0, y1) => {
    sheet.rule(x, y0, x, y1, "--ink", 2);
    sheet.pen.beginPath();
    sheet.pen.moveTo(x - 5, y0);
    sheet.pen.lineTo(x + 5, y0);
    sheet.pen.lineTo(x, y0 + 7);
    sheet.pen.closePath();
    sheet.pen.fillStyle = hookLoad.token("--ink");
    sheet.pen.fill();
  };

  /* ---- the part that is shown --------------------------------------------------------- */

  const part = (sheet) => {
    const replay = hookLoad.replay;
    const { from, to, at, strips, marks } = replay;
    const x = across(sheet, from, to);
    const { y, h } = layout.part;
    const meant = replay.meant();
    if (meant.isMarked) {
      const left = Math.max(PAD, x(meant.from));
      const right = Math.min(sheet.width - PAD, x(meant.to));
      if (right > left) sheet.box(left, y - 4, right - left, layout.ticks - y, "--band");
    }
    if (strips) {
      bands(sheet, strips.buckets, x, y, h, strips.buckets.step_us);
      words(sheet, x, y, h);
      for (const stand of strips.stands) tick(sheet, x, stand, y, h);
      events(sheet, x);
    }
    for (const end of ["from", "to"]) {
      if (marks[end] !== null && marks[end] >= from && marks[end] <= to) {
        sheet.rule(x(marks[end]), y - 6, x(marks[end]), layout.ticks - 6, "--ink", 1.5, [4, 3]);
      }
    }
    for (const note of (hookLoad.replayKnown && hookLoad.replayKnown.notes) || []) {
      const nx = x(note.from_us);
      if (nx >= PAD && nx <= sheet.width - PAD) {
        sheet.text("\u270e", nx, layout.lane, "center", "--ink");
      }
    }
    times(sheet, from, to, x);
    cursor(sheet, x(at), y - 6, layout.ticks - 4);
  };

  /* Names of the bands that have room for one. */
  const words = (sheet, x, y, h) => {
    const { time_us: stamps, activity } = hookLoad.replay.strips.buckets;
    let at = 0;
    while (at < stamps.length) {
      let end = at + 1;
      while (end < stamps.length && activity[end] === activity[at]) end++;
      const code = hookLoad.facts.activities[activity[at]];
      const name = NAMES[code];
      const left = Math.max(PAD, x(stamps[at]));
      const right = Math.min(sheet.width - PAD, x(stamps[Math.min(end, stamps.length - 1)]));
      if (name && right - left > sheet.size * 0.62 * name.length + 8) {
        sheet.text(name, (left + right) / 2, y + h / 2, "center", WORDS_ON[code] || "--ink");
      }
      at = end;
    }
  };

  let lastTick = -Infinity;
  const tick = (sheet, x, stand, y, h) => {
    const left = x(stand.from_us);
    if (left < PAD || left > sheet.width - PAD) return;
    sheet.rule(left, y + h, left, y + h + 5, "--ink-soft", 1);
    if (left < lastTick) lastTick = -Infinity;
    const text = `${stand.stand} ${WAYS[stand.way] || ""}`;
    const room = sheet.size * 0.62 * text.length + 8;
    if (left - lastTick > room && left + room < sheet.width) {
      sheet.text(text, left + 3, y - 0.8 * sheet.size + 3, "left");
      lastTick = left;
    }
  };

  const events = (sheet, x) => {
    const r = Math.max(5, sheet.size * 0.45);
    for (const event of [...hookLoad.replay.strips.events].reverse()) {
      const end = event.end_us === null ? hookLoad.replay.record.span[1] : event.end_us;
      const [left, right] = [Math.max(PAD, x(event.start_us)), Math.min(sheet.width - PAD, x(end))];
      if (right < PAD || left > sheet.width - PAD) continue;
      const kind = severity(event);
      const name = kind === "act-now" ? "--act-now" : kind === "be-ready" ? "--be-ready" : "--ink-soft";
      const y = layout.lane + (event.kind === "stuck" ? 1.3 * r : 0);
      if (right - left > 2) sheet.box(left, y - 1.5, right - left, 3, name);
      if (x(event.start_us) >= PAD) sheet.mark(left, y, r, kind);
    }
  };

  const times = (sheet, from, to, x) => {
    const wide = Math.max(2, Math.floor(sheet.width / 130));
    hookLoad.elsewhere("then-", hookLoad.replay.zoned(), () => {
      const found = hookLoad.timeTicks(from / 1000, to / 1000, wide);
      const days = to - from > 86400e6 * 1.5;
      let last = -Infinity;
      found.values.forEach((ms, at) => {
        const tx = x(ms * 1000);
        if (tx < 40 || tx > sheet.width - 40 || tx - last < 110) return;
        last = tx;
        sheet.rule(tx, layout.ticks - 10, tx, layout.ticks - 5, "--ink-soft", 1);
        const text = days ? `${hookLoad.day(ms * 1000)} ${found.text[at]}` : found.text[at];
        sheet.text(text, tx, layout.ticks + 2, "center");
      });
    });
  };

  /* ---- pressing ----------------------------------------------------------------------- */

  let isWhole = false;
  const timeOf = (px, py, kind) => {
    if (layout === null) return null;
    const replay = hookLoad.replay;
    if (kind === "pointerdown") isWhole = py < layout.part.y - 0.5 * (layout.part.y - layout.whole.y - layout.whole.h);
    const overWhole = kind === "wheel" ? false : isWhole;
    const [from, to] = overWhole ? replay.record.span : [replay.from, replay.to];
    return from + ((px - PAD) / (layout.width - 2 * PAD)) * (to - from);
  };

  timeline.start = () => hookLoad.timePointer(canvas(), timeOf);
})();
