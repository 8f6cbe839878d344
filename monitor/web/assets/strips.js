/* Three strips on one time axis, drawn at most four times a second, one draw in flight. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const SPANS_S = [600, 3600, 21600, 120];
  const NAMES = { 120: "2 min", 600: "10 min", 3600: "1 h", 21600: "6 h" };
  const WIDTHS_S = [0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 30, 60, 120];
  const LEAST_MS = 250;

  const strips = (hookLoad.strips = {
    buckets: null,
    at: 0,
    drawing: false,
    drawnAt: -Infinity,
    draws: 0,
    wantsAnother: false,
    drawMs: [],
    timer: null,
  });

  strips.wanted = () => {
    const spanS = SPANS_S[strips.at];
    const box = hookLoad.element("strips").getBoundingClientRect();
    const pixels = Math.min(2000, Math.max(300, box.width || 600));
    return { spanS, widthS: WIDTHS_S.find((w) => spanS / w <= pixels) || 300 };
  };

  strips.load = (found, spanS, widthS) => {
    strips.buckets = new hookLoad.Buckets(spanS, widthS);
    strips.buckets.fill(found);
    strips.soon();
  };

  strips.add = (row) => {
    if (strips.buckets) strips.buckets.add(row);
  };

  strips.soon = () => {
    strips.wantsAnother = strips.drawing;
    if (strips.timer !== null || strips.drawing) return;
    const wait = Math.max(0, LEAST_MS - (performance.now() - strips.drawnAt));
    strips.timer = setTimeout(() => {
      strips.timer = null;
      draw();
    }, wait);
  };

  strips.nextSpan = () => {
    strips.at = (strips.at + 1) % SPANS_S.length;
    label();
    hookLoad.feed.loadWindow();
  };

  const label = () => {
    const next = SPANS_S[(strips.at + 1) % SPANS_S.length];
    hookLoad.setText("strip-span", `${NAMES[SPANS_S[strips.at]]} \u00b7 press for ${NAMES[next]}`);
  };

  const graph = () => document.querySelector("#strips-graph .js-plotly-plot");

  const draw = async () => {
    const gd = graph();
    const box = hookLoad.element("strips").getBoundingClientRect();
    if (!window.Plotly || !gd || !strips.buckets || !hookLoad.facts || document.hidden) {
      setTimeout(strips.soon, 200);
      return;
    }
    if (box.width === 0) return; // another place is shown
    strips.drawing = true;
    strips.drawnAt = performance.now();
    try {
      const { data, layout } = figure(box);
      await window.Plotly.react(gd, data, layout, { staticPlot: true, showSendToCloud: false });
      strips.draws += 1;
    } finally {
      strips.drawing = false; // a draw that fails must not be the last one
    }
    strips.drawMs.push(performance.now() - strips.drawnAt);
    if (strips.drawMs.length > 200) strips.drawMs.shift();
    if (strips.wantsAnother) strips.soon();
  };

  const figure = (box) => {
    const buckets = strips.buckets;
    const force = (si) => hookLoad.shown(si, "force");
    const length = (si) => hookLoad.shown(si, "block_position");
    const token = hookLoad.token;
    const limits = hookLoad.limits();
    const red = (most) => limits.alarm !== null && most > limits.alarm;
    const trace = { type: "scatter", mode: "lines", hoverinfo: "skip", showlegend: false };
    const thin = { color: token("--trace"), width: 1.6 };
    const none = { width: 0, color: "rgba(0,0,0,0)" };
    const filled = (points, colour, axis) => ({
      ...trace, ...points, yaxis: axis, fill: "toself", fillcolor: token(colour), line: none,
    });
    const join = (one, other) => ({
      x: [...one.x, ...(one.x.length && other.x.length ? [other.x[0]] : []), ...other.x],
      y: [...one.y, ...(one.x.length && other.x.length ? [null] : []), ...other.y],
    });
    const beyond = (reaches) =>
      join(
        limits.over === null ? { x: [], y: [] } : buckets.beyond(limits.over, 1, force, reaches),
        limits.under === null ? { x: [], y: [] } : buckets.beyond(limits.under, -1, force, reaches)
      );
    const data = [
      { ...trace, ...buckets.line("hook_load_N", force), line: thin, name: "hook load" },
      { ...trace, ...buckets.line("excess_N", force), yaxis: "y2", line: thin, name: "excess" },
      {
        ...trace, ...buckets.line("block_position_m", length), yaxis: "y3", line: thin,
        name: "block position",
      },
      filled(buckets.bandOutline(force), "--band", "y"),
      filled(beyond((most) => !red(most)), "--be-ready", "y2"),
      filled(beyond(red), "--act-now", "y2"),
    ];
    return { data: [data[3], data[4], data[5], data[0], data[1], data[2]], layout: layoutOf(box, limits) };
  };

  const layoutOf = (box, limits) => {
    const buckets = strips.buckets;
    const token = hookLoad.token;
    const size = Math.max(12, Math.round(box.height * 0.0145));
    const to = Number.isFinite(buckets.newestMs) ? buckets.newestMs : Date.now();
    const span = buckets.spanMs;
    const end = to + span * 0.03;
    const time = hookLoad.timeTicks(end - span, end, box.width > 700 ? 6 : 4);
    const left = 4.6 * size;
    const axis = {
      color: token("--ink-soft"), gridcolor: token("--rule"), zeroline: false, fixedrange: true,
      showline: false, ticks: "",
    };
    const layout = {
      width: Math.round(box.width), height: Math.round(box.height), autosize: false,
      margin: { l: 0, r: 0, t: 0, b: 0, pad: 0 }, showlegend: false, dragmode: false,
      paper_bgcolor: "rgba(0,0,0,0)", plot_bgcolor: "rgba(0,0,0,0)", uirevision: "strips",
      font: { size, color: token("--ink-soft"), family: getComputedStyle(document.body).fontFamily },
      xaxis: {
        ...axis, type: "linear", range: [end - span, end], anchor: "y3",
        domain: [left / box.width, 1 - size / box.width],
        tickmode: "array", tickvals: time.values, ticktext: time.text,
      },
      shapes: [], annotations: [],
    };
    const panels = [
      ["yaxis", "strip-hook-load", loadScale(limits), 1],
      ["yaxis2", "strip-excess", excessScale(limits), 1],
      ["yaxis3", "strip-block", blockScale(), 2],
    ];
    for (const [name, id, scale, lines] of panels) {
      const panel = hookLoad.element(id).getBoundingClientRect();
      const top = panel.top - box.top + 2.5 * size;
      const bottom = panel.bottom - box.top - (lines === 2 ? 2.1 : 0.9) * size;
      layout[name] = {
        ...axis, anchor: "x", domain: [1 - bottom / box.height, 1 - top / box.height],
        range: [scale.low, scale.high], tickmode: "array", tickvals: scale.ticks,
        ticktext: scale.ticks.map((v) => hookLoad.written(v, v % 1 === 0 ? 0 : 1)),
      };
    }
    dashes(layout, limits, end - span, end);
    linesChanged(layout, end - span, end);
    return layout;
  };

  const dashes = (layout, limits, from, to) => {
    const token = hookLoad.token;
    for (const [limit, sign] of [[limits.over, 1], [limits.under, -1]]) {
      if (limit === null) continue;
      const y = hookLoad.shown(sign * limit, "force");
      layout.shapes.push({
        type: "line", xref: "x", yref: "y2", x0: from, x1: to, y0: y, y1: y,
        line: { color: token("--be-ready"), width: 1.5, dash: "dash" },
      });
      layout.annotations.push({
        xref: "x", yref: "y2", x: from, y, text: `event ${hookLoad.written(y, hookLoad.loadDecimals(), true)}`,
        showarrow: false, xshift: 4, xanchor: "left", yanchor: sign > 0 ? "bottom" : "top",
        font: { size: layout.font.size, color: token("--ink-soft") },
      });
    }
  };

  /* From here on every load rests on another number of lines. */
  const linesChanged = (layout, from, to) => {
    for (const { time_us: timeUs, lines } of hookLoad.now.marks) {
      const x = timeUs / 1000;
      if (x < from || x > to) continue;
      layout.shapes.push({
        type: "line", xref: "x", yref: "paper", x0: x, x1: x, y0: 0, y1: 1,
        line: { color: hookLoad.token("--ink"), width: 1.5, dash: "dot" },
      });
      layout.annotations.push({
        xref: "x", yref: "y domain", x, y: 1, text: `${lines} lines`, showarrow: false,
        xanchor: x > (from + to) / 2 ? "right" : "left", yanchor: "top", xshift: x > (from + to) / 2 ? -4 : 4,
        font: { size: layout.font.size, color: hookLoad.token("--ink") },
      });
    }
  };

  const loadScale = () => {
    const found = strips.buckets.range("hook_load_N") || [0, 1e6];
    const [low, high] = found.map((si) => hookLoad.shown(si, "force"));
    const room = 20 * (hookLoad.facts.units.force.step || 1); // noise is not blown up
    const more = Math.max(0, (room - (high - low)) / 2);
    return hookLoad.scale("strip-load", low - more, high + more, 5);
  };

  const excessScale = (limits) => {
    // As slips take the load it falls for a second or two: that runs out of the panel.
    const found = strips.buckets.range("excess_N", 3000) || [0, 0];
    const over = limits.over === null ? 50e3 : limits.over;
    const under = limits.under === null ? 50e3 : limits.under;
    const low = Math.min(found[0], -2 * under);
    const high = Math.max(found[1] * 1.03, 2 * over);
    return hookLoad.scale(
      "strip-excess", hookLoad.shown(low, "force"), hookLoad.shown(high, "force"), 4
    );
  };

  const blockScale = () => {
    const found = strips.buckets.range("block_position_m") || [0, 30];
    const length = (si) => hookLoad.shown(si, "block_position");
    return hookLoad.scale(
      "strip-block", length(Math.min(0, found[0])), length(Math.max(found[1], 10)), 3
    );
  };

  strips.start = () => {
    hookLoad.element("strip-span").addEventListener("click", strips.nextSpan);
    label();
    window.addEventListener("resize", strips.soon);
    document.addEventListener("visibilitychange", strips.soon);
  };
})();
