/* The stuck-pipe workbench: load against block position, pulls chosen by hand or as found, the
   free length they tell, and how near each came to what may be pulled. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const bench = (hookLoad.workbench = { spell: null, found: null, chosen: null, answers: 0 });
  const AROUND_US = 3600e6 * 3;
  const BY_HAND = "marked";
  let parts = null;
  let turn = 0;
  let corners = []; // of the numbered peaks, for pressing them

  const part = (...given) => hookLoad.replayKnown.part(...given);

  const build = () => {
    const holder = document.getElementById("replay-stuck");
    const asked = part("div", "stuck-asked");
    const spells = part("select", "stuck-spells");
    const pipe = part("select", "stuck-condition");
    for (const name of ["", ...holder.dataset.conditions.split(",")]) {
      const option = part("option", "", name || "as in the rig file");
      option.value = name;
      pipe.append(option);
    }
    const factor = part("input", "stuck-factor");
    factor.type = "text";
    factor.inputMode = "decimal";
    factor.size = 5;
    const found = part("button", "button stuck-all", "Take as found");
    found.type = "button";
    found.addEventListener("click", () => {
      bench.chosen = null;
      read();
    });
    for (const [label, field] of [["Stuck spell", spells], ["Pipe condition", pipe], ["Design factor", factor]]) {
      const own = part("label", "stuck-field");
      own.append(part("span", "soft", label), field);
      asked.append(own);
    }
    asked.append(found);
    spells.addEventListener("change", () => choose(spells.value));
    pipe.addEventListener("change", read);
    factor.addEventListener("change", read);
    const answer = part("div", "stuck-answer");
    const chart = part("canvas", "stuck-loops");
    chart.title = "Press the number of a pull to take it or leave it out";
    chart.addEventListener("click", pressed);
    const tables = part("div", "stuck-tables");
    holder.replaceChildren(asked, answer, chart, tables);
    parts = { asked, spells, pipe, factor, answer, chart, tables };
    window.addEventListener("resize", () => draw());
  };

  /* Spells the monitor found, and the span marked by hand where there is one. */
  const offer = () => {
    const { record, at } = hookLoad.replay;
    const meant = hookLoad.replay.meant();
    const options = record.spells.map((spell) => ({
      value: spell.id, text: hookLoad.replay.stamp(spell.from_us), from: spell.from_us, to: spell.to_us,
    }));
    if (meant.isMarked) {
      options.push({ value: BY_HAND, text: "the marked span", from: meant.from, to: meant.to });
    }
    parts.spells.replaceChildren(
      ...options.map(({ value, text }) => {
        const option = part("option", "", text);
        option.value = value;
        return option;
      })
    );
    bench.options = options;
    const still = options.find((one) => one.value === bench.spell && one.value !== BY_HAND);
    const near = options
      .filter((one) => one.value !== BY_HAND)
      .reduce((best, one) => (!best || away(one, at) < away(best, at) ? one : best), null);
    return meant.isMarked ? options[options.length - 1] : still || near;
  };

  const away = (one, at) => Math.max(0, one.from - at, at - one.to);

  bench.show = () => {
    if (parts === null) build();
    const option = offer();
    parts.asked.hidden = !option;
    if (!option) {
      bench.found = null;
      tell(
        "No stuck pipe was found in this record. Mark a span in which the string was held " +
          "([ From and To ]), and open this again to work on its pulls."
      );
      return;
    }
    if (option.value === bench.spell && bench.found && option.value !== BY_HAND) {
      parts.spells.value = option.value;
      draw();
      return;
    }
    choose(option.value);
  };

  /* Pulls, condition and design factor chosen here; the report is made by them too. */
  bench.choice = () => ({
    pipe: parts ? parts.pipe.value : "",
    factor: parts ? parts.factor.value.trim().replace(",", ".") : "",
    ...(bench.chosen === null ? {} : { pulls: [...bench.chosen].join(",") }),
  });

  const choose = (value) => {
    bench.spell = value;
    bench.chosen = null;
    parts.spells.value = value;
    read();
  };

  const read = () =>
    hookLoad.replay.careful(async () => {
      const mine = ++turn;
      const option = bench.options.find((one) => one.value === bench.spell);
      if (!option) return;
      const isMarked = option.value === BY_HAND;
      const [first, last] = hookLoad.replay.record.span;
      const asked = {
        from_us: Math.round(isMarked ? option.from : Math.max(first, option.from - AROUND_US)),
        to_us: Math.round(isMarked ? option.to : Math.min(last + 1, option.to + AROUND_US)),
        event: isMarked ? "" : option.value,
        ...bench.choice(),
      };
      if (bench.found === null) tell("Reading \u2026");
      let found = null;
      try {
        found = await hookLoad.replay.ask("spell", asked);
      } catch (error) {
        if (mine === turn && error instanceof hookLoad.Refused) tell(error.message);
        throw error;
      }
      if (mine !== turn) return;
      bench.found = found;
      bench.answers += 1;
      show();
    });

  const tell = (words) => {
    parts.answer.replaceChildren(part("p", "stuck-words", words));
    parts.tables.replaceChildren();
    const sheet = hookLoad.sheet(parts.chart);
    if (sheet) corners = [];
  };

  /* ---- the answer -------------------------------------------------------------------- */

  const show = () => {
    const { answer, words, supported, grounds, allowed, weights, outcome, depth, pipe } = bench.found;
    if (pipe && parts.factor.placeholder !== String(pipe.design_factor)) {
      parts.factor.placeholder = pipe.design_factor;
    }
    const figure = part("div", "stuck-figure");
    figure.append(part("div", "soft", "Free length along the string from the rig floor"));
    figure.append(part("div", supported ? "stuck-length" : "stuck-length none", answer.length));
    const below = [answer.interval, answer.above_bit && `${answer.above_bit} above the bit`];
    figure.append(part("div", "", below.filter(Boolean).join("; ")));
    const why = part("div", "stuck-why");
    why.append(part("p", "stuck-words", supported ? grounds : `${words} ${grounds}`));
    why.append(part("p", "stuck-words", weights));
    if (allowed) why.append(part("p", "stuck-words", allowed));
    why.append(part("p", "soft", `Bit at ${depth}, ${outcome}.${blows()} Advice only: a free-point tool goes before it.`));
    parts.answer.replaceChildren(figure, why);
    parts.tables.replaceChildren(pullsTable(), limitsTable());
    draw();
  };

  const blows = () => {
    const { blows: found, blows_can_show: can } = bench.found;
    if (found.length) return ` ${found.length} jar blow${found.length > 1 ? "s" : ""}.`;
    return can ? " No jar blow is seen." : " Rows come too slowly for a jar blow to be seen.";
  };

  const table = (className, heads, rows) => {
    const element = part("table", className);
    const top = part("tr");
    heads.forEach((words) => top.append(part("th", "", words)));
    const head = part("thead");
    head.append(top);
    const body = part("tbody");
    body.append(...rows);
    element.append(head, body);
    return element;
  };

  const pullsTable = () => {
    const { heads, pulls, blows: found } = bench.found;
    const rows = pulls.map((pull) => {
      const line = part("tr", pull.used ? "used" : "");
      line.dataset.pull = `${pull.kind} ${pull.number}`;
      const first = part("td");
      const label = part("label", "stuck-pull");
      if (pull.usable) {
        const box = part("input");
        box.type = "checkbox";
        box.checked = pull.used;
        box.addEventListener("change", () => toggle(pull.number));
        label.append(box);
      }
      label.append(`${pull.kind === "pull" ? "Pull" : "Set-down"} ${pull.number}`);
      first.append(label);
      const when = part("td");
      when.append(hookLoad.replayKnown.leads(pull.start_us, "stuck-when", hookLoad.replay.clock(pull.start_us)));
      line.append(first, when, ...pull.cells.map((words) => part("td", "", words)));
      return line;
    });
    for (const blow of found) {
      const row = part("tr", "blow");
      const cell = part("td", "", "Jar blow");
      const when = part("td");
      when.append(hookLoad.replayKnown.leads(blow.time_us, "stuck-when", hookLoad.replay.clock(blow.time_us)));
      const words = part("td", "stuck-blow", blow.text);
      words.colSpan = heads.length - 2;
      row.append(cell, when, words);
      rows.push(row);
    }
    return table("stuck-pulls", heads, rows);
  };

  const limitsTable = () => {
    const { limits, units, pipe } = bench.found;
    if (limits.length === 0) {
      return part("p", "soft", "The rig file gives no ratings: how much may be pulled is not known here.");
    }
    const rows = limits.map((limit) => {
      const row = part("tr");
      row.append(...[limit.name, limit.limit, limit.acts, limit.printed].map((w) => part("td", "", w)));
      return row;
    });
    const holder = part("div");
    holder.append(
      table("stuck-limits", ["Limit, weakest first", `As hook load, ${units.force}`, "Acts on", "Rating"], rows)
    );
    if (!pipe || !pipe.known) {
      holder.append(part("p", "soft", "The pipe's strength is not known: give [pipe] grade in the rig file."));
    }
    return holder;
  };

  const toggle = (number) => {
    const now = new Set(bench.found.pulls.filter((pull) => pull.used).map((pull) => pull.number));
    if (now.has(number)) now.delete(number);
    else now.add(number);
    bench.chosen = now;
    read();
  };

  /* ---- load against block position ---------------------------------------------------- */

  const draw = () => {
    if (!bench.found || parts === null) return;
    const sheet = hookLoad.sheet(parts.chart);
    if (sheet === null) return;
    const { loops, up, down, down_guessed: guessed, units, limits, pulls } = bench.found;
    const values = (name) => loops.flatMap((loop) => loop[name].filter((v) => v !== null));
    const blocks = values("block");
    const loads = [...values("load"), ...loops.map((loop) => loop.peak[1]), up, down].filter((v) => v !== null);
    corners = [];
    if (blocks.length < 2) return;
    const [b0, b1] = [Math.min(...blocks), Math.max(...blocks)];
    let [l0, l1] = [Math.min(...loads), Math.max(...loads)];
    const weakest = limits.length ? limits[0].shown : null;
    if (weakest !== null && weakest < l1 + 0.6 * (l1 - l0)) l1 = Math.max(l1, weakest * 1.01);
    const s = sheet.size;
    const box = { left: 4.6 * s, right: sheet.width - 1.2 * s, top: 1.7 * s, bottom: sheet.height - 3.2 * s };
    const stepB = hookLoad.roundStep(Math.max(b1 - b0, 0.1), 7);
    const stepL = hookLoad.roundStep(Math.max(l1 - l0, 1), 5);
    const x = (v) => box.left + ((v - b0 + 0.03 * (b1 - b0)) / (1.06 * (b1 - b0))) * (box.right - box.left);
    const y = (v) => box.bottom - ((v - l0 + 0.04 * (l1 - l0)) / (1.1 * (l1 - l0))) * (box.bottom - box.top);
    for (const tick of hookLoad.ticks(l0, l1, stepL)) {
      sheet.rule(box.left, y(tick), box.right, y(tick), "--rule");
      sheet.text(hookLoad.written(tick, 0), box.left - 6, y(tick), "right");
    }
    for (const tick of hookLoad.ticks(b0, b1, stepB)) {
      sheet.rule(x(tick), box.top, x(tick), box.bottom, "--rule");
      sheet.text(hookLoad.written(tick, stepB < 1 ? (stepB < 0.1 ? 2 : 1) : 0), x(tick), box.bottom + 0.9 * s, "center");
    }
    sheet.text(`Hook load, ${units.force}`, box.left, 0.8 * s);
    sheet.text(`Block position, ${units.block}`, (box.left + box.right) / 2, sheet.height - 0.8 * s, "center");
    for (const [level, words] of [[up, "free hoisting weight"], [down, `free lowering weight${guessed ? " (estimated)" : ""}`]]) {
      if (level === null) continue;
      sheet.rule(box.left, y(level), box.right, y(level), "--ink-soft", 1.2, [6, 4]);
      sheet.text(words, box.right, y(level) - 0.7 * s, "right");
    }
    if (weakest !== null && weakest <= l1 * 1.02) {
      sheet.rule(box.left, y(weakest), box.right, y(weakest), "--ink", 2.5);
      sheet.text(`most that may be pulled: ${limits[0].name}`, box.right, y(weakest) + 0.8 * s, "right", "--ink");
    }
    const used = new Set(pulls.filter((pull) => pull.used).map((pull) => pull.number));
    for (const loop of loops) loopOf(sheet, loop, x, y, used);
    for (const loop of loops) if (loop.kind === "pull") numberOf(sheet, loop, x, y, used);
  };

  const loopOf = (sheet, loop, x, y, used) => {
    const isUsed = loop.kind === "pull" && used.has(loop.number);
    const pick = (wanted) => loop.load.map((v, at) => (v === null || loop.up[at] !== wanted ? null : y(v)));
    const xs = loop.block.map((v) => (v === null ? null : x(v)));
    sheet.line(xs, pick(false), "--load", 1.2);
    sheet.line(xs, pick(true), isUsed ? "--trace" : "--load", isUsed ? 2.4 : 1.4);
  };

  const numberOf = (sheet, loop, x, y, used) => {
    const [px, py] = [x(loop.peak[0]), y(loop.peak[1])];
    const r = 0.85 * sheet.size;
    const isUsed = used.has(loop.number);
    sheet.pen.beginPath();
    sheet.pen.arc(px, py, r, 0, 7);
    sheet.pen.fillStyle = hookLoad.token(isUsed ? "--button" : "--panel");
    sheet.pen.fill();
    sheet.pen.strokeStyle = hookLoad.token("--ink-soft");
    sheet.pen.lineWidth = 1.5;
    sheet.pen.stroke();
    sheet.text(String(loop.number), px, py + 1, "center", isUsed ? "--button-ink" : "--ink");
    corners.push({ number: loop.number, px, py });
  };

  const pressed = (event) => {
    const box = parts.chart.getBoundingClientRect();
    const [px, py] = [event.clientX - box.left, event.clientY - box.top];
    const near = corners
      .map((one) => ({ ...one, far: Math.hypot(one.px - px, one.py - py) }))
      .reduce((best, one) => (!best || one.far < best.far ? one : best), null);
    if (!near || near.far > 26) return;
    const pull = bench.found.pulls.find((one) => one.kind === "pull" && one.number === near.number);
    if (pull.usable) toggle(pull.number);
    else hookLoad.replay.say(`Pull ${pull.number} has no slope that can be used: too short, too fast or too crooked`);
  };
})();
