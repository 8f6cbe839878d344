/* The moment that is looked at. It lives here, in this browser, and nowhere else: two people
   may look at different moments. Only rows of the moment and bounded windows are fetched. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const PLACE = "then-";
  const SECOND = 1e6;
  const SPANS_S = [60, 120, 300, 600, 1200, 3600, 10800, 21600, 43200, 86400, 259200, 604800];
  const OVERVIEW_MS = 2000;

  const replay = (hookLoad.replay = {
    place: PLACE,
    isShown: false,
    record: null, // span, bands, events and spells of the whole record
    at: null, // the moment [us]
    from: null, // what the strips and the time line show [us]
    to: null,
    strips: null, // buckets, events and stands of that window
    told: null, // what the server said of the moment
    now: null, // the moment in the form the Floor figures are painted from
    marks: { from: null, to: null },
    seekMs: [], // from asking to painted, for the tests
    seeks: 0,
    windows: 0,
    complaint: "",
  });

  replay.ask = async (name, values) => {
    const answer = await fetch(`/replay/${name}.json?${new URLSearchParams(values)}`, {
      cache: "no-store",
    });
    const found = await answer.json();
    if (!answer.ok) throw new hookLoad.Refused(found.error || `not answered (${answer.status})`);
    return found;
  };

  /* What the server will not answer, in its words. */
  hookLoad.Refused = class extends Error {};

  replay.say = (words) => {
    replay.complaint = words;
    hookLoad.setText("replay-told", words);
  };

  /* Run what may be refused, or find no server; both are said, nothing else is swallowed. */
  replay.careful = async (task) => {
    try {
      return await task();
    } catch (error) {
      const isOurs = error instanceof hookLoad.Refused;
      if (!isOurs && !(error instanceof TypeError) && !(error instanceof SyntaxError)) throw error;
      replay.say(isOurs ? error.message : "no connection to the server");
      return null;
    }
  };

  /* ---- the record -------------------------------------------------------------------- */

  replay.shown = (isShown) => {
    replay.isShown = isShown;
    if (!isShown) replay.pause();
    else if (hookLoad.facts) open();
    else setTimeout(() => replay.shown(replay.isShown), 50);
  };

  const open = async () => {
    await readRecord();
    if (!replay.record) {
      setTimeout(() => replay.isShown && open(), 1000);
      return;
    }
    if (replay.at === null) {
      const asked = new URLSearchParams(location.search);
      const wanted = Date.parse(asked.get("at") || "") * 1000;
      const [first, last] = replay.record.span;
      replay.setSpeed(Number(asked.get("speed")) || 1);
      const isFromStart = asked.get("from") === "start" || replay.record.finished;
      const at = Number.isNaN(wanted) ? (isFromStart ? first : last) : wanted;
      replay.zoom(600 * SECOND, at);
      await replay.seek(at);
    }
    replay.paint();
  };

  const readRecord = () =>
    replay.careful(async () => {
      const found = await replay.ask("record", {});
      if (found.span === null) return;
      if (replay.record && replay.record.record !== found.record) replay.at = null;
      replay.record = found;
      if (!found.finished && replay.timer === undefined) {
        replay.timer = setInterval(() => {
          if (replay.isShown && !document.hidden) readRecord().then(() => replay.grown());
        }, OVERVIEW_MS);
      }
      if (found.finished) clearInterval(replay.timer);
    });

  /* Rows have come: the window is read anew where it reaches past what it was drawn from. */
  replay.grown = () => {
    const drawn = replay.strips;
    hookLoad.timeline.paint();
    if (!drawn || replay.at === null || replay.from >= replay.record.span[1]) return;
    if (replay.wanted > 1.01 * (replay.to - replay.from)) replay.zoom(replay.wanted, replay.at);
    const times = drawn.buckets.time_us;
    const last = times.length ? times[times.length - 1] + drawn.buckets.step_us : replay.from;
    if (last < replay.to - 2 * SECOND && last < replay.record.span[1] - 2 * SECOND) {
      replay.loadWindow().then(replay.paint);
    }
  };

  replay.clamp = (at) => {
    const [first, last] = replay.record.span;
    return Math.round(Math.min(Math.max(at, first), last));
  };

  /* ---- the window -------------------------------------------------------------------- */

  replay.spans = () => {
    const [first, last] = replay.record.span;
    const whole = last - first;
    return [...SPANS_S.map((s) => s * SECOND).filter((us) => us < whole), whole + SECOND];
  };

  /* A window of so much time with a moment at its share of the width. */
  replay.zoom = (spanUs, around, share = 0.5) => {
    const [first, last] = replay.record.span;
    replay.wanted = spanUs;
    const span = Math.min(spanUs, Math.max(last - first + SECOND, 10 * SECOND));
    let from = around - share * span;
    from = Math.min(Math.max(from, first), Math.max(first, last + SECOND - span));
    [replay.from, replay.to] = [Math.round(from), Math.round(from + span)];
  };

  replay.closer = (by, around = replay.at) => {
    const spans = replay.spans();
    const span = replay.to - replay.from;
    let at = spans.findIndex((one) => one >= span * 0.99);
    if (at < 0) at = spans.length - 1;
    const next = spans[Math.min(Math.max(at - by, 0), spans.length - 1)];
    const share = Math.min(Math.max((around - replay.from) / span, 0), 1);
    replay.zoom(next, around, share);
    hookLoad.timeline.paint();
    replay.loadWindow().then(replay.paint);
  };

  replay.whole = () => {
    replay.zoom(replay.record.span[1] - replay.record.span[0] + SECOND, replay.at);
    replay.loadWindow().then(replay.paint);
  };

  let windowTurn = 0;
  replay.loadWindow = () =>
    replay.careful(async () => {
      const turn = ++windowTurn;
      const width = hookLoad.element("replay-timeline").clientWidth || 1000;
      const found = await replay.ask("window", {
        from_us: replay.from,
        to_us: replay.to,
        points: Math.min(2000, Math.max(300, Math.round(0.55 * width))), // the strips are narrower
      });
      if (turn !== windowTurn) return;
      replay.strips = found;
      hookLoad.replayKnown.notes = found.notes;
      replay.windows += 1;
    });

  /* ---- the moment -------------------------------------------------------------------- */

  let asking = false;
  let pending = null;

  /* Go to a moment; while one is being fetched only the newest wish is kept. */
  replay.seek = (at, how = {}) => {
    if (!replay.record) return null;
    replay.pause();
    return go(replay.clamp(at), {}, how);
  };

  replay.step = (direction) => {
    replay.pause();
    return go(replay.at, { step: 1, direction });
  };

  replay.jump = (what, direction) => {
    replay.pause();
    return go(replay.at, { jump: what, direction });
  };

  const go = async (at, moved, how = {}) => {
    if (asking) {
      pending = [at, moved, how];
      return;
    }
    asking = true;
    const begun = performance.now();
    await replay.careful(async () => {
      const isStill = Object.keys(moved).length === 0;
      if (isStill) {
        replay.at = at;
        if (how.spanUs) replay.zoom(how.spanUs, at);
        hookLoad.timeline.paint();
      }
      const wanted = isStill && follow() ? replay.loadWindow() : null;
      const told = await replay.ask("moment", { at_us: at, ...moved });
      if (told.none) {
        replay.say(moved.jump ? `No ${moved.jump} ${moved.direction > 0 ? "after" : "before"} this` : "");
        return;
      }
      await wanted;
      replay.say("");
      replay.take(told, true);
      if (!isStill && follow()) await replay.loadWindow();
      replay.paint();
      requestAnimationFrame(() =>
        requestAnimationFrame(() => {
          replay.seeks += 1;
          replay.seekMs.push(performance.now() - begun);
          if (replay.seekMs.length > 500) replay.seekMs.shift();
        })
      );
    });
    asking = false;
    keepAddress();
    if (pending !== null) {
      const next = pending;
      pending = null;
      go(...next);
    }
  };

  /* Whether the window had to move, or has not been drawn, so that the moment is in it. */
  const follow = () => {
    const isInside = replay.at >= replay.from && replay.at <= replay.to;
    if (!isInside) replay.zoom(replay.to - replay.from, replay.at);
    const drawn = replay.strips;
    return !drawn || drawn.from_us !== replay.from || drawn.to_us !== replay.to;
  };

  /* A link to this moment, to send or to come back to. */
  const keepAddress = () => {
    if (location.pathname !== "/replay" || replay.at === null) return;
    const asked = new URLSearchParams(location.search);
    asked.set("at", new Date(replay.at / 1000).toISOString());
    history.replaceState(history.state, "", `/replay?${asked}`);
  };

  /* What the server said of a moment; while playing the row goes its own way. */
  replay.take = (told, withRow) => {
    replay.told = told;
    if (withRow) {
      replay.at = told.at_us;
      hookLoad.letGo(PLACE);
      hookLoad.figures.letGo(PLACE);
    }
    const row = withRow || !replay.now ? replay.rowOf(told.row) : replay.now.row;
    replay.now = {
      row, status: told.status || {}, events: told.events || [], marks: [], pulse: {},
      staleAfterS: told.stale_after_s || 1.3, ageS: null, toldAt: 0, heardAt: 0, received: 0,
    };
  };

  replay.rowOf = (values) => {
    if (!values) return null;
    const row = {};
    hookLoad.facts.columns.forEach((name, at) => (row[name] = values[at]));
    return row;
  };

  /* ---- painting ---------------------------------------------------------------------- */

  replay.then = (paint) => {
    const now = replay.now;
    if (now === null) return;
    now.heardAt = now.toldAt = performance.now();
    now.ageS = now.row === null ? null : Math.max(0, (replay.at - now.row.time_us) / SECOND);
    hookLoad.elsewhere(PLACE, now, paint);
  };

  replay.paintFigures = () =>
    replay.then(() => {
      const cover = hookLoad.cover();
      hookLoad.figures.tiles(cover ? null : hookLoad.now.row, cover);
      hookLoad.ladders.draw();
      paintHead(cover);
    });

  const paintHead = (cover) => {
    const put = (id, text) => hookLoad.setText(document.getElementById(id), text);
    const { row, status } = hookLoad.now;
    put("replay-moment", replay.stamp(replay.at));
    const words = [cover ? cover : hookLoad.activityWord()];
    if (row && row.stand > 0) words.push(`stand ${row.stand}`);
    if (status.lines_strung) words.push(`${status.lines_strung} lines`);
    const ago = (replay.record.span[1] - replay.at) / SECOND;
    const end = replay.record.finished ? "the end" : "the newest row";
    words.push(ago < 1 ? end : `${hookLoad.spell(ago)} before ${end}`);
    put("replay-doing", words.join(" \u00b7 "));
  };

  /* Day and time of day at the rig. */
  replay.stamp = (us) => {
    let text = "";
    hookLoad.elsewhere(PLACE, replay.zoned(), () => {
      text = `${hookLoad.day(us)} ${hookLoad.clock(us, true)}`;
    });
    return text;
  };

  replay.clock = (us, seconds = true) => {
    let text = "";
    hookLoad.elsewhere(PLACE, replay.zoned(), () => (text = hookLoad.clock(us, seconds)));
    return text;
  };

  replay.zoned = () => ({ row: null, status: { time_zone: replay.record && replay.record.time_zone } });

  replay.paint = () => {
    if (!replay.isShown || !replay.record || replay.at === null || !hookLoad.facts) return;
    replay.paintFigures();
    hookLoad.replayStrips.paint();
    hookLoad.timeline.paint();
    hookLoad.replayKnown.paint();
    hookLoad.story.mark();
    hookLoad.setText(
      document.getElementById("replay-span"), replay.duration((replay.to - replay.from) / SECOND)
    );
  };

  replay.duration = (seconds) => {
    if (seconds < 120) return `${Math.round(seconds)} s`;
    if (seconds < 7200) return `${Math.round(seconds / 60)} min`;
    if (seconds < 172800) return `${(seconds / 3600).toFixed(seconds % 3600 < 60 ? 0 : 1)} h`;
    return `${(seconds / 86400).toFixed(1)} days`;
  };

  /* The span that is meant: the marked one, else what is shown. */
  replay.meant = () => {
    const { from, to } = replay.marks;
    const isMarked = from !== null && to !== null && to > from;
    return isMarked ? { from, to, isMarked } : { from: replay.from, to: replay.to, isMarked };
  };
})();
