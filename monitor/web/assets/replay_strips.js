/* Three strips around the moment: hook load with what was expected, what is over or under it,
   and the block. Drawn from bounded windows; least and greatest of every bucket are kept. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const strips = (hookLoad.replayStrips = { draws: 0 });
  const ON_THE_LOAD = ["stuck", "overpull", "slack_off", "weight_loss", "light", "jar_blow"];
  const SHARES = [0.42, 0.29, 0.29];
  let area = null;
  let copy = null; // the strips without the cursor

  const canvas = () => document.getElementById("replay-strips");

  strips.paint = () => {
    const replay = hookLoad.replay;
    if (!replay.strips || !replay.isShown) return;
    const sheet = hookLoad.sheet(canvas());
    if (sheet === null) return;
    strips.draws += 1;
    const { from_us: from, to_us: to } = replay.strips;
    area = {
      left: 4.6 * sheet.size, right: sheet.width - sheet.size, from, to, sheet,
      bottom: sheet.height - 1.8 * sheet.size,
    };
    const plots = [hookLoadStrip, excessStrip, blockStrip];
    let y = 0;
    plots.forEach((plot, at) => {
      const h = SHARES[at] * area.bottom;
      plot(sheet, y + 1.9 * sheet.size, h - 2.6 * sheet.size, y + 0.9 * sheet.size);
      y += h;
    });
    times(sheet);
    keep();
    drawCursor();
  };

  const x = (us) => area.left + ((us - area.from) / (area.to - area.from)) * (area.right - area.left);

  const shown = (values, quantity) =>
    values.map((si) => (si === null ? null : hookLoad.shown(si, quantity)));

  const extent = (...columns) => {
    let [low, high] = [Infinity, -Infinity];
    for (const column of columns) {
      for (const value of column) {
        if (value === null) continue;
        if (value < low) low = value;
        if (value > high) high = value;
      }
    }
    return low > high ? null : [low, high];
  };

  const axis = (sheet, name, low, high, top, height, parts, title, unit) => {
    let scale = null;
    hookLoad.elsewhere("then-", hookLoad.replay.now, () => {
      scale = hookLoad.scale(name, low, high, parts);
    });
    const y = (value) =>
      value === null ? null : top + height - ((value - scale.low) / (scale.high - scale.low)) * height;
    for (const tick of scale.ticks) {
      sheet.rule(area.left, y(tick), area.right, y(tick), "--rule", 1);
      sheet.text(hookLoad.written(tick, tick % 1 === 0 ? 0 : 1), area.left - 6, y(tick), "right");
    }
    sheet.text(title, area.left, top - 0.95 * sheet.size);
    sheet.text(unit, area.right, top - 0.95 * sheet.size, "right");
    return y;
  };

  const columns = (name, quantity) => {
    const found = hookLoad.replay.strips.buckets;
    return ["", "_min", "_max"].map((end) => shown(found[name + end], quantity));
  };

  const xs = () => {
    const { time_us: times, step_us: step } = hookLoad.replay.strips.buckets;
    return times.map((us) => x(us + step / 2));
  };

  const clipped = (sheet, top, height, draw) => {
    sheet.pen.save();
    sheet.pen.beginPath();
    sheet.pen.rect(area.left, top - 2, area.right - area.left, height + 4);
    sheet.pen.clip();
    draw();
    sheet.pen.restore();
  };

  const trace = (sheet, at, [last, low, high], y, name) => {
    sheet.envelope(at, low.map(y), high.map(y), name);
    sheet.line(at, last.map(y), name);
  };

  const hookLoadStrip = (sheet, top, height) => {
    const load = columns("hook_load_N", "force");
    const { expected_N, band_N } = hookLoad.replay.strips.buckets;
    const isFine = expected_N !== undefined; // else the band could not be made out
    const step = hookLoad.facts.units.force.step || 1;
    const [low, high] = extent(load[1], load[2]) || [0, 100 * step];
    const more = Math.max(0, (20 * step - (high - low)) / 2);
    const y = axis(sheet, "load", low - more, high + more, top, height, 5, "Hook load", hookLoad.unit("force"));
    const at = xs();
    clipped(sheet, top, height, () => {
      if (isFine) bandOf(sheet, at, shown(expected_N, "force"), shown(band_N, "force"), y);
      trace(sheet, at, load, y, "--trace");
    });
  };

  const bandOf = (sheet, at, middle, half, y) => {
    sheet.pen.fillStyle = hookLoad.token("--band");
    for (let one = 0; one + 1 < at.length; one++) {
      if ([middle[one], half[one], middle[one + 1], half[one + 1]].includes(null)) continue;
      const corners = [
        [at[one], y(middle[one] - half[one])], [at[one], y(middle[one] + half[one])],
        [at[one + 1], y(middle[one + 1] + half[one + 1])],
        [at[one + 1], y(middle[one + 1] - half[one + 1])],
      ];
      sheet.pen.beginPath();
      corners.forEach(([cx, cy], number) => (number ? sheet.pen.lineTo(cx, cy) : sheet.pen.moveTo(cx, cy)));
      sheet.pen.fill();
    }
  };

  const excessStrip = (sheet, top, height) => {
    const excess = columns("excess_N", "force");
    const status = hookLoad.replay.now ? hookLoad.replay.now.status : {};
    const limits = status.event_limits_N || {};
    const over = hookLoad.shown(limits.overpull || 50e3, "force");
    const under = -hookLoad.shown(limits.slack_off || 50e3, "force");
    const [low, high] = extent(excess[1], excess[2]) || [0, 0];
    const y = axis(
      sheet, "excess", Math.min(low, 1.5 * under), Math.max(high, 1.5 * over), top, height, 4,
      "Over or under expected", hookLoad.unit("force")
    );
    const at = xs();
    clipped(sheet, top, height, () => {
      for (const limit of [over, under]) {
        sheet.rule(area.left, y(limit), area.right, y(limit), "--be-ready", 1.3, [7, 4]);
      }
      beyond(sheet, at, excess, y, over, under, status.alarm_limits_N || {});
      trace(sheet, at, excess, y, "--trace");
    });
  };

  /* Only what lies beyond the event limit while an event was open is filled: what the load does
     as slips are set is none. */
  const beyond = (sheet, at, [, low, high], y, over, under, alarms) => {
    const wide = at.length > 1 ? Math.max(1, at[1] - at[0]) : 2;
    const alarm = alarms.overpull ? hookLoad.shown(alarms.overpull, "force") : Infinity;
    const alarmUnder = alarms.slack_off ? -hookLoad.shown(alarms.slack_off, "force") : -Infinity;
    const { events, buckets } = hookLoad.replay.strips;
    const open = events
      .filter((event) => ON_THE_LOAD.includes(event.kind))
      .map((event) => [event.start_us, event.end_us === null ? Infinity : event.end_us])
      .sort((one, other) => one[0] - other[0]);
    let [next, until] = [0, -Infinity]; // buckets come in order of time: one pass is enough
    const isOpen = (us) => {
      while (next < open.length && open[next][0] < us + buckets.step_us + 1) {
        until = Math.max(until, open[next][1]);
        next += 1;
      }
      return until >= us;
    };
    for (let one = 0; one < at.length; one++) {
      if (!isOpen(buckets.time_us[one]) || !(high[one] > over || low[one] < under)) continue;
      if (high[one] !== null && high[one] > over) {
        const name = high[one] > alarm ? "--act-now" : "--be-ready";
        sheet.box(at[one] - wide / 2, y(high[one]), wide + 0.5, y(over) - y(high[one]), name);
      }
      if (low[one] !== null && low[one] < under) {
        const name = low[one] < alarmUnder ? "--act-now" : "--be-ready";
        sheet.box(at[one] - wide / 2, y(under), wide + 0.5, y(low[one]) - y(under), name);
      }
    }
  };

  const blockStrip = (sheet, top, height) => {
    const block = columns("block_position_m", "block_position");
    const [low, high] = extent(block[1], block[2]) || [0, 30];
    const y = axis(
      sheet, "block", Math.min(0, low), Math.max(high, 10), top, height, 3, "Block position",
      hookLoad.unit("block_position")
    );
    const at = xs();
    clipped(sheet, top, height, () => trace(sheet, at, block, y, "--trace"));
  };

  const times = (sheet) => {
    hookLoad.elsewhere("then-", hookLoad.replay.zoned(), () => {
      const found = hookLoad.timeTicks(area.from / 1000, area.to / 1000, sheet.width > 700 ? 6 : 4);
      found.values.forEach((ms, at) => {
        const tx = x(ms * 1000);
        if (tx < area.left + 20 || tx > area.right - 20) return;
        sheet.text(found.text[at], tx, sheet.height - 0.8 * sheet.size, "center");
      });
    });
  };

  /* The strips as they are, so that a moving cursor costs a copy and no drawing. */
  const keep = () => {
    const own = canvas();
    copy = copy || document.createElement("canvas");
    if (copy.width !== own.width || copy.height !== own.height) {
      copy.width = own.width;
      copy.height = own.height;
    } else {
      copy.getContext("2d").clearRect(0, 0, copy.width, copy.height);
    }
    copy.getContext("2d").drawImage(own, 0, 0);
  };

  const drawCursor = () => {
    const at = hookLoad.replay.at;
    if (at < area.from || at > area.to) return;
    area.sheet.rule(x(at), 0, x(at), area.bottom + 4, "--ink", 2);
  };

  strips.cursor = () => {
    const own = canvas();
    if (area === null || copy === null || own.offsetParent === null) return;
    const pen = area.sheet.pen;
    pen.save();
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.clearRect(0, 0, own.width, own.height);
    pen.drawImage(copy, 0, 0);
    pen.restore();
    drawCursor();
  };

  strips.start = () =>
    hookLoad.timePointer(canvas(), (px) =>
      area === null ? null : area.from + ((px - area.left) / (area.right - area.left)) * (area.to - area.from)
    );
})();
