/* The string-up, unfolded: crown sheaves in a row above, those of the travelling block in a row
   below, so that every line stands upright beside its tension. Drawn as SVG; the block moves. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const SVG = "http://www.w3.org/2000/svg";
  const WIDEST_PITCH = 60;
  const WORDS = { hoisting: "hoisting", lowering: "lowering", held: "held" };

  const force = (si) => hookLoad.format(si, "force", { decimals: hookLoad.loadDecimals() });
  const withUnit = (si) => {
    const digits = force(si);
    return digits === null ? "not known" : `${digits} ${hookLoad.unit("force")}`;
  };

  /* Where everything stands, in pixels. */
  const plan = (width, height, n) => {
    const size = Math.max(12, Math.min(19, height / 30));
    const pitch = Math.min(WIDEST_PITCH, (width - 5 * size) / (n + 1));
    const across = pitch * (n + 1);
    const left = (width - across) / 2;
    const r = pitch / 2;
    const ring = Math.min(r, 2.2 * size); // few lines stand wide apart: the sheaves stay sheaves
    const crownY = 4.4 * size + r;
    const floorY = height - 3.1 * size;
    return {
      width, height, n, size, pitch, r, ring, crownY, floorY,
      x: (line) => left + line * pitch, // 0 the fast line, 1 to n, n + 1 the dead line
      isOdd: n % 2 === 1, // then the line ends at the travelling block
      digitsY: crownY + r + 1.3 * size,
    };
  };

  const sheet = (at) => {
    const svg = document.createElementNS(SVG, "svg");
    svg.setAttribute("width", at.width);
    svg.setAttribute("height", at.height);
    svg.setAttribute("role", "img");
    const add = (name, attributes, words) => {
      const part = document.createElementNS(SVG, name);
      for (const [key, value] of Object.entries(attributes)) part.setAttribute(key, value);
      if (words !== undefined) part.textContent = words;
      svg.append(part);
      return part;
    };
    const text = (x, y, words, given) => {
      const { anchor = "middle", scale = 1, ink = "--ink-soft", bold = false } = given || {};
      return add("text", {
        x, y, "text-anchor": anchor, "font-size": at.size * scale,
        "font-weight": bold ? 700 : 400, style: `fill: var(${ink})`,
      }, words);
    };
    const line = (x0, y0, x1, y1, colour, wide) =>
      add("line", {
        x1: x0, y1: y0, x2: x1, y2: y1, "stroke-width": wide || 2, style: `stroke: var(${colour})`,
      });
    const circle = (x, y, r, fill, stroke) =>
      add("circle", {
        cx: x, cy: y, r, "stroke-width": 2.5, style: `fill: var(${fill}); stroke: var(${stroke})`,
      });
    const box = (x, y, wide, high, fill) =>
      add("rect", { x, y, width: wide, height: high, rx: 2, style: `fill: var(${fill})` });
    return { svg, add, text, line, circle, box };
  };

  const blockY = (at, row, room) => {
    const top = at.digitsY + room + at.r;
    const low = at.floorY - 5.4 * at.size - at.r;
    const { floor_m: floor, crown_m: crown } = hookLoad.now.status;
    if (!row || row.block_position_m === null) return top + (low - top) * 0.25;
    const from = floor || 0;
    const share = (row.block_position_m - from) / ((crown || 40) - from);
    return low + (top - low) * Math.max(0, Math.min(1, share));
  };

  const half = (at, part, x, y, up) =>
    part.add("path", {
      d: `M${x - at.r},${y} A${at.r},${at.r} 0 0 ${up ? 1 : 0} ${x + at.r},${y}`,
      "stroke-width": 2, style: "fill: none; stroke: var(--trace)",
    });

  const sheave = (at, part, x, y, up, isFixed) => {
    part.circle(x, y, Math.max(3, at.ring - 4), isFixed ? "--load" : "--well", "--load");
    if (!isFixed) part.circle(x, y, 2, "--load", "--load");
    half(at, part, x, y, up);
  };

  const crown = (at, part, hoist) => {
    const last = at.isOdd ? at.n : at.n + 1;
    const y = at.crownY;
    part.box(at.x(0) - at.r, y - at.r - at.size * 0.5, at.x(last) - at.x(0) + 2 * at.r, 4, "--load");
    for (let line = 0; line < last; line += 2) {
      const isDead = !at.isOdd && line === at.n;
      const isFixed = isDead && hoist.dead_line_sheave === "fixed";
      sheave(at, part, at.x(line) + at.r, y, true, isFixed);
    }
  };

  const lines = (at, part, hoist, y) => {
    for (let line = 1; line <= at.n; line++) {
      part.line(at.x(line), at.crownY, at.x(line), y, "--trace");
    }
    const drumR = 1.5 * at.size;
    part.line(at.x(0), at.crownY, at.x(0), at.floorY - drumR, "--trace", 3);
    drum(at, part, drumR);
    for (let more = 0; more < (hoist.extra_fast_line_sheaves || 0); more++) {
      const r = 0.6 * at.size;
      const lead = (at.crownY + at.floorY) / 2 + more * 3 * r;
      part.circle(at.x(0) - r, lead, r - 1, "--well", "--load");
    }
    if (at.isOdd) {
      part.circle(at.x(at.n), y, 4, "--ink", "--ink");
      return;
    }
    const dead = at.x(at.n + 1);
    part.line(dead, at.crownY, dead, at.floorY - 0.9 * at.size, "--trace", 3);
    part.box(dead - 0.8 * at.size, at.floorY - 1.1 * at.size, 1.6 * at.size, 1.1 * at.size, "--load");
  };

  const drum = (at, part, r) => {
    const x = at.x(0) + r;
    const y = at.floorY - r;
    part.circle(x, y, r - 1, "--well", "--load");
    part.circle(x, y, 0.62 * r, "--well", "--trace");
    part.circle(x, y, 0.3 * r, "--load", "--load");
  };

  const block = (at, part, hoist, y, known) => {
    const last = at.isOdd ? at.n : at.n - 1;
    const middle = (at.x(1) + at.x(at.n)) / 2;
    const wide = at.x(at.n) - at.x(1) + at.pitch * 0.5;
    part.box(middle - wide / 2, y + at.ring * 0.35, wide, at.ring * 0.9 + 5, "--load-own");
    for (let line = 1; line < last + (at.isOdd ? 0 : 1); line += 2) {
      sheave(at, part, at.x(line) + at.r, y, false, false);
    }
    const s = at.size;
    const under = y + at.ring * 1.25 + 5;
    part.line(middle, under, middle, under + 0.9 * s, "--load-own", 5);
    part.add("path", {
      d: `M${middle},${under + 0.9 * s} a${0.8 * s},${0.8 * s} 0 1 1 ${-0.8 * s},${0.8 * s}`,
      "stroke-width": 5, style: "fill: none; stroke: var(--load-own)",
    });
    if (!known) return;
    part.text(middle + 1.5 * s, under + 1.0 * s, "on the lines", { anchor: "start" });
    part.text(middle + 1.5 * s, under + 2.6 * s, withUnit(hoist.load_N), {
      anchor: "start", scale: 1.5, ink: "--ink", bold: true,
    });
    if (typeof hoist.load_swing_N === "number") {
      const mean = typeof hoist.load_mean_N === "number" ? withUnit(hoist.load_mean_N) : "not known yet";
      part.text(middle + 1.5 * s, under + 4.0 * s, `mean ${mean}`, { anchor: "start" });
      part.text(middle + 1.5 * s, under + 5.3 * s, `swing ${withUnit(hoist.load_swing_N)}`, {
        anchor: "start",
      });
    }
    way(at, part, middle - 1.6 * s, under + 1.4 * s, hoist.direction);
  };

  const way = (at, part, x, y, direction) => {
    const s = at.size;
    if (direction === "hoisting" || direction === "lowering") {
      const up = direction === "hoisting" ? 1 : -1;
      part.add("path", {
        d: `M${x - 0.5 * s},${y - 0.8 * s * up} l${0.6 * s},${1.1 * s * up} h${-1.2 * s} Z`,
        style: "fill: var(--ink)",
      });
    }
    const word = WORDS[direction] || "direction not known";
    part.text(x - 0.1 * s, y + 1.7 * s, word, { anchor: "end" });
  };

  /* Each tension on its line, where it stays put however the block moves; upright where the
     lines stand too close for their digits. */
  const tensions = (at, part, written, size, turned) => {
    written.forEach((words, index) => {
      const [x, y] = [at.x(index + 1), at.digitsY];
      const wide = 0.64 * size * words.length + 4;
      const scale = size / at.size;
      if (turned) {
        part.box(x - 0.6 * size, y - size, 1.2 * size, wide + 4, "--panel");
        const foot = [x + 0.36 * size, y - size + wide];
        part
          .text(foot[0], foot[1], words, { anchor: "start", ink: "--ink", scale })
          .setAttribute("transform", `rotate(-90 ${foot[0]} ${foot[1]})`);
      } else {
        part.box(x - wide / 2, y - 1.05 * size, wide, 1.4 * size, "--panel");
        part.text(x, y + 0.05 * size, words, { ink: "--ink", scale });
      }
    });
  };

  const ends = (at, part, hoist, known) => {
    const s = at.size;
    part.line(2, at.floorY, at.width - 2, at.floorY, "--load", 2);
    const below = at.floorY + 1.25 * s;
    const value = (si) => (known ? withUnit(si) : "");
    const edge = 0.4 * s;
    part.text(edge, below, "fast line, to the drum", { anchor: "start" });
    part.text(edge, below + 1.5 * s, value(hoist.fast_line_tension_N), {
      anchor: "start", scale: 1.25, ink: "--ink", bold: true,
    });
    if (known && typeof hoist.efficiency === "number") {
      part.text(at.width / 2, below + 1.5 * s, `efficiency ${hookLoad.written(hoist.efficiency, 3)}`);
    }
    const dead = at.isOdd ? "dead line, ends at the block" : "dead line, to the anchor";
    part.text(at.width - edge, below, dead, { anchor: "end" });
    part.text(at.width - edge, below + 1.5 * s, value(hoist.dead_line_tension_N), {
      anchor: "end", scale: 1.25, ink: "--ink", bold: true,
    });
  };

  const derrick = (at, part, hoist) => {
    const rest = hoist.derrick_load_static_N;
    const label = part.text(at.width / 2, 1.5 * at.size, "on the derrick ");
    const tail = (words, ink, bold) => {
      const span = document.createElementNS(SVG, "tspan");
      span.setAttribute("style", `fill: var(${ink})`);
      if (bold) span.setAttribute("font-weight", "700");
      span.textContent = words;
      label.append(span);
    };
    tail(withUnit(hoist.derrick_load_N), "--ink", true);
    if (rest !== null && rest !== undefined) tail(`, at rest ${withUnit(rest)}`, "--ink-soft");
    if (typeof hoist.derrick_worst_leg_N !== "number") return;
    const legs = `worst leg ${withUnit(hoist.derrick_worst_leg_N)}, equivalent ${withUnit(hoist.derrick_equivalent_N)}`;
    part.text(at.width / 2, 2.9 * at.size, legs);
  };

  /* word: why no figure is shown, or "". */
  hookLoad.drawStringUp = (holder, hoist, row, word) => {
    const at = plan(holder.clientWidth, holder.clientHeight, hoist.lines_strung);
    if (at.width < 100 || at.height < 150) return;
    const part = sheet(at);
    const values = hoist.tensions_N || [];
    const most = Math.max(0, ...values.map((si) => hookLoad.shown(si, "force")));
    const fine = { decimals: most < 50 ? 1 : 0 };
    const written = values.map((si) => hookLoad.format(si, "force", fine) || "\u2013");
    const digits = Math.max(3, ...written.map((words) => words.length));
    const level = Math.min(at.size, (at.pitch - 6) / (0.64 * digits));
    const turned = level < 11;
    const size = turned ? Math.min(at.size, 0.8 * at.pitch) : level;
    const y = blockY(at, word ? null : row, turned ? 0.64 * digits * size + 4 : 1.2 * size);
    lines(at, part, hoist, y);
    crown(at, part, hoist);
    block(at, part, hoist, y, !word);
    ends(at, part, hoist, !word);
    if (word) {
      const middle = at.digitsY + (at.floorY - at.digitsY) * 0.72;
      const wide = (word.length * 0.72 + 2) * 1.6 * at.size;
      part.box((at.width - wide) / 2, middle, wide, 2.6 * at.size, "--panel");
      part.text(at.width / 2, middle + 1.85 * at.size, word, {
        scale: 1.6, ink: "--ink", bold: true,
      });
    } else {
      tensions(at, part, written, size, turned);
      derrick(at, part, hoist);
    }
    part.svg.setAttribute(
      "aria-label",
      word || `String-up of ${at.n} lines, ${withUnit(hoist.load_N)} on the lines`
    );
    holder.replaceChildren(part.svg);
  };
})();
