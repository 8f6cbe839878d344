/* Two ladders and the block's travel, drawn as SVG, at most four times a second. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const LEAST_MS = 250;
  const SVG = "http://www.w3.org/2000/svg";

  const ladders = (hookLoad.ladders = { timer: null, drawnAt: -Infinity });

  hookLoad.weakest = () => {
    const limits = hookLoad.now.status.pull_limits || [];
    return limits.reduce((least, one) => (!least || one.limit_N < least.limit_N ? one : least), null);
  };

  /* Limits of the excess as magnitudes [N]; null where none is set. */
  hookLoad.limits = () => {
    const { event_limits_N: event, alarm_limits_N: alarm, agreed_N: agreed } = hookLoad.now.status;
    const of = (set, name) => (set && typeof set[name] === "number" ? set[name] : null);
    return {
      over: of(event, "overpull"), under: of(event, "slack_off"),
      alarm: of(alarm, "overpull"), alarmUnder: of(alarm, "slack_off"),
      agreed: of(agreed, "overpull"), agreedUnder: of(agreed, "slack_off"),
    };
  };

  ladders.soon = () => {
    if (ladders.timer !== null) return;
    const wait = Math.max(0, LEAST_MS - (performance.now() - ladders.drawnAt));
    ladders.timer = setTimeout(() => {
      ladders.timer = null;
      ladders.drawnAt = performance.now();
      if (hookLoad.facts && !document.hidden) draw();
    }, wait);
  };

  const draw = (ladders.draw = () => {
    const cover = hookLoad.cover();
    const row = hookLoad.now.row;
    const word = cover || (hookLoad.inSlips() ? "in slips" : row.hook_load_N === null ? hookLoad.why.hookLoad() : "");
    loadLadder(word, row);
    fineLadder(word || (row.excess_N === null ? hookLoad.why.excess() : ""), row);
    blockTravel(cover || (row.block_position_m === null ? "not known" : ""), row);
  });

  const paper = (id) => {
    const holder = hookLoad.element(id);
    const [width, height] = [holder.clientWidth, holder.clientHeight];
    const svg = document.createElementNS(SVG, "svg");
    svg.setAttribute("width", width);
    svg.setAttribute("height", height);
    const size = Math.max(11, Math.min(20, height / 24));
    const sheet = { holder, svg, width, height, size, top: size, bottom: height - size };
    sheet.y = (value, low, high) =>
      sheet.bottom - ((value - low) / (high - low)) * (sheet.bottom - sheet.top);
    sheet.add = (name, attributes, text) => {
      const part = document.createElementNS(SVG, name);
      for (const [key, value] of Object.entries(attributes)) part.setAttribute(key, value);
      if (text !== undefined) part.textContent = text;
      svg.append(part);
      return part;
    };
    sheet.done = () => holder.replaceChildren(svg);
    return sheet;
  };

  const box = (sheet, x, width, y0, y1, colour) =>
    sheet.add("rect", {
      x, width, y: Math.min(y0, y1), height: Math.abs(y1 - y0), style: `fill: var(${colour})`,
    });

  const text = (sheet, x, y, words, anchor, colour, scale) =>
    sheet.add(
      "text",
      {
        x, y: y + sheet.size * 0.35 * (scale || 1), "text-anchor": anchor,
        "font-size": sheet.size * (scale || 1), style: `fill: var(${colour || "--ink-soft"})`,
      },
      words
    );

  const rule = (sheet, x0, x1, y, colour, width, dash) =>
    sheet.add("line", {
      x1: x0, x2: x1, y1: y, y2: y, "stroke-width": width, "stroke-dasharray": dash || "none",
      style: `stroke: var(${colour})`,
    });

  const arrow = (sheet, x, y, filled, colour) => {
    const s = sheet.size;
    const ink = `var(${colour || "--ink"})`;
    sheet.add("path", {
      d: `M${x},${y} l${s},${-0.6 * s} v${1.2 * s} Z`, "stroke-width": 1.5,
      style: `fill: ${filled ? ink : "none"}; stroke: ${ink}`,
    });
  };

  const hatched = (sheet, x, width, y0, y1) => {
    const gap = 9;
    const clip = `${hookLoad.place}hatch-${Math.round(x)}-${Math.round(width)}`;
    const defs = sheet.add("clipPath", { id: clip });
    const shape = document.createElementNS(SVG, "rect");
    for (const [k, v] of Object.entries({ x, y: y0, width, height: Math.max(0, y1 - y0) })) {
      shape.setAttribute(k, v);
    }
    defs.append(shape);
    let d = "";
    for (let at = y0 - width; at < y1 + width; at += gap) d += `M${x},${at + width} l${width},${-width}`;
    sheet.add("path", {
      d, "clip-path": `url(#${clip})`, "stroke-width": 1.5, style: "stroke: var(--ink-soft); fill: none",
    });
  };

  const scaleMarks = (sheet, x, scale, signed) => {
    for (const value of scale.ticks) {
      const y = sheet.y(value, scale.low, scale.high);
      rule(sheet, x - 5, x, y, "--ink-soft", 1);
      text(sheet, x - 9, y, hookLoad.written(value, value % 1 === 0 ? 0 : 1, signed), "end");
    }
  };

  const wordAcross = (sheet, x, width, word) => {
    const group = text(sheet, x + width / 2, (sheet.top + sheet.bottom) / 2, word, "middle", "--ink", 1.25);
    group.setAttribute("font-weight", "700");
    group.setAttribute("transform", `rotate(-90 ${x + width / 2} ${(sheet.top + sheet.bottom) / 2})`);
  };

  const COLOURS = { "act-now": "--act-now", "be-ready": "--be-ready", "": "--trace" };
  const force = (si) => hookLoad.shown(si, "force");
  const colourOf = (event, otherwise) =>
    event === null ? otherwise : COLOURS[hookLoad.events.severity(event)];
  const eventColour = () => colourOf(hookLoad.events.open(), "--load");

  /* One scale for all that hangs there, up to the most that may be pulled. */
  const loadLadder = (word, row) => {
    const sheet = paper("load-ladder");
    const weakest = hookLoad.weakest();
    const most = weakest ? weakest.limit_N * 1.15 : Math.max(row && row.hook_load_N ? row.hook_load_N : 0, 5e5) * 1.3;
    const scale = hookLoad.scale("load-ladder", 0, force(most), 5);
    const x = sheet.size * 4.1;
    const width = Math.max(20, sheet.width - x - sheet.size * 4.3);
    const y = (si) => sheet.y(force(si), scale.low, scale.high);
    box(sheet, x, width, sheet.top, sheet.bottom, "--well");
    scaleMarks(sheet, x, scale);
    if (!word) {
      const own = Math.min(hookLoad.now.status.travelling_weight_N || 0, row.hook_load_N);
      box(sheet, x, width, y(0), y(Math.max(0, row.hook_load_N)), "--load");
      box(sheet, x, width, y(0), y(Math.max(0, own)), "--load-own");
      if (hookLoad.events.open() !== null && row.expected_N !== null && row.excess_N !== null) {
        box(sheet, x, width, y(row.expected_N), y(row.hook_load_N), eventColour());
      }
      expectedMarks(sheet, x + width + 3, row, y);
    }
    if (weakest) {
      hatched(sheet, x, width, sheet.top, y(weakest.limit_N));
      rule(sheet, x - 4, x + width + 8, y(weakest.limit_N), "--ink", 2.5);
    }
    if (word) wordAcross(sheet, x, width, word);
    sheet.done();
  };

  const expectedMarks = (sheet, x, row, y) => {
    const marks = [["up", row.expected_up_N], ["down", row.expected_down_N]];
    const at = marks.map(([, value]) => (value === null ? null : y(value)));
    apart(at, 1.3 * sheet.size);
    marks.forEach(([word, value], index) => {
      if (value === null) return;
      arrow(sheet, x, at[index], value === row.expected_N);
      text(sheet, x + sheet.size * 1.3, at[index], word, "start");
    });
  };

  /* Around the expected load: only the excess takes colour. */
  const fineLadder = (word, row) => {
    const sheet = paper("fine-ladder");
    const limits = hookLoad.limits();
    const reach = Math.max(2 * (limits.over || 4e4), 1.6 * (limits.alarm || 0), 1.15 * (limits.agreed || 0));
    const step = hookLoad.roundStep(2 * force(reach), 9);
    const high = Math.ceil(force(reach) / step - 1e-9) * step;
    const scale = { low: -high, high, ticks: hookLoad.ticks(-high, high, step) };
    const x = sheet.size * 4.1;
    const width = Math.max(24, sheet.width - x - sheet.size * 4.6);
    const y = (si) => sheet.y(Math.max(-high, Math.min(high, force(si))), scale.low, scale.high);
    box(sheet, x, width, sheet.top, sheet.bottom, "--well");
    scaleMarks(sheet, x, scale, true);
    if (!word) {
      if (row.band_N !== null) box(sheet, x, width, y(row.band_N), y(-row.band_N), "--band");
      const open = hookLoad.events.open() !== null;
      box(sheet, x + width * 0.2, width * 0.6, y(0), y(row.excess_N), open ? eventColour() : "--trace");
      if (Math.abs(force(row.excess_N)) > high) beyondScale(sheet, x + width / 2, row.excess_N > 0);
    }
    if (!word) rule(sheet, x - 3, x + width + 3, y(0), "--ink", 1.5);
    if (word) wordAcross(sheet, x, width, word);
    else {
      limitMarks(sheet, x, width, [y(limits.alarm), y(limits.agreed)], [limits.alarm, limits.agreed]);
      limitMarks(
        sheet, x, width, [y(-limits.alarmUnder), y(-limits.agreedUnder)],
        [limits.alarmUnder, limits.agreedUnder]
      );
    }
    sheet.done();
  };

  const limitMarks = (sheet, x, width, heights, limits) => {
    const words = limits.map((limit) => (limit === null ? null : 0));
    heights.forEach((height, at) => {
      if (limits[at] !== null) {
        words[at] = height;
        rule(sheet, x - 4, x + width + 6, height, "--ink", 2, at === 0 ? "7 4" : "");
      }
    });
    apart(words, 1.15 * sheet.size);
    if (words[0] !== null) text(sheet, x + width + 9, words[0], "alarm", "start");
    if (words[1] !== null) text(sheet, x + width + 9, words[1], "agreed", "start");
  };

  /* Two words that would lie on one another are moved apart, in the order they stand. */
  const apart = (heights, least) => {
    const [one, other] = heights;
    if (one === null || other === null || Math.abs(one - other) >= least) return;
    const middle = (one + other) / 2;
    const side = one <= other ? -1 : 1;
    heights[0] = middle + (side * least) / 2;
    heights[1] = middle - (side * least) / 2;
  };

  const beyondScale = (sheet, x, up) => {
    const s = sheet.size;
    const y = up ? sheet.top : sheet.bottom;
    sheet.add("path", {
      d: `M${x},${y + (up ? 3 : -3)} l${0.8 * s},${(up ? 1 : -1) * s} h${-1.6 * s} Z`,
      style: "fill: var(--ink)",
    });
  };

  /* The block upright, crown at the top. */
  const blockTravel = (word, row) => {
    const sheet = paper("block-travel");
    const { floor_m: floor, crown_m: crown } = hookLoad.now.status;
    const top = crown || Math.max(40, Math.ceil(((row && row.block_position_m) || 0) / 10) * 10);
    const low = Math.min(0, floor || 0);
    const width = Math.max(12, sheet.width * 0.3);
    const x = sheet.width - width - sheet.size * 1.2;
    const y = (si) => sheet.y(Math.max(low, Math.min(top * 1.06, si)), low, top * 1.06);
    box(sheet, x, width, sheet.top, sheet.bottom, "--well");
    if (crown) box(sheet, x, width, sheet.top, y(crown), "--load");
    if (floor) box(sheet, x, width, y(floor), sheet.bottom, "--load");
    if (word) wordAcross(sheet, x, width, word);
    else {
      const near = hookLoad.events.open(["near_crown", "near_floor"]);
      arrow(sheet, x + width + 1, y(row.block_position_m), true, colourOf(near, "--ink"));
    }
    sheet.done();
  };
})();
