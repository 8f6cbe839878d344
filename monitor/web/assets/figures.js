/* The figures and words of the top line and the tiles. Small text follows the data, up to ten
   times a second; large figures change at most four times a second. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const TEXT_MS = 95;
  const LARGE_MS = 250;

  const figures = (hookLoad.figures = { textAt: -Infinity, timer: null, largeAt: {}, shownSeq: 0 });

  figures.start = () => {
    document.querySelectorAll("[data-quantity]").forEach((element) => {
      const quantity = element.dataset.quantity;
      if (quantity) hookLoad.setText(element, hookLoad.unit(quantity));
    });
    setInterval(figures.soon, 200); // so that age and staleness go on without any message
  };

  figures.soon = () => {
    if (figures.timer !== null) return;
    const wait = Math.max(0, TEXT_MS - (performance.now() - figures.textAt));
    figures.timer = setTimeout(() => {
      figures.timer = null;
      figures.textAt = performance.now();
      show();
    }, wait);
  };

  /* Digits (trusted HTML is never used), or a word that cannot be taken for digits. */
  const put = (id, digits, word, options) => {
    const element = hookLoad.element(`${id}-value`);
    const large = options && options.large;
    const state = digits === null ? `word:${word}` : digits;
    if (element.dataset.state === state) return;
    const wasWord = (element.dataset.state || "word:").startsWith("word:");
    if (large && digits !== null) {
      // Digits that take a word's place come at once, but the next wait like any other.
      const now = performance.now();
      const last = figures.largeAt[hookLoad.place + id] || -Infinity;
      if (!wasWord && now - last < LARGE_MS) {
        setTimeout(figures.soon, LARGE_MS);
        return;
      }
      figures.largeAt[hookLoad.place + id] = now;
    }
    element.dataset.state = state;
    element.classList.toggle("word", digits === null);
    const small = options && options.smallFraction && digits !== null;
    const [whole, fraction] = small ? digits.split(/(?=\.\d+$)/) : [digits === null ? word : digits];
    element.textContent = whole;
    if (fraction) {
      const tail = document.createElement("span");
      tail.className = "fraction";
      tail.textContent = fraction;
      element.append(tail);
    }
  };

  figures.put = put;

  const show = () => {
    if (!hookLoad.facts) return;
    const cover = hookLoad.cover();
    const row = cover ? null : hookLoad.now.row;
    topLine(cover);
    figures.tiles(row, cover);
    ["strip-hook-load", "strip-excess", "strip-block"].forEach((id) =>
      hookLoad.setText(document.querySelector(`#${id} .strip-word`), cover)
    );
    hookLoad.ladders.soon();
    hookLoad.hoist.soon();
    hookLoad.events.show();
    hookLoad.alarms.show();
    hookLoad.stuck.show(row, cover);
    hookLoad.caught.show();
    hookLoad.setText("refused", hookLoad.refused());
    document.documentElement.dataset.cover = cover;
    if (row) figures.shownSeq = row.seq;
  };

  figures.tiles = (row, cover) => {
    hookLoadTile(row, cover);
    excessTile(row, cover);
    roomTile(row, cover);
    whereabouts(row, cover);
  };

  /* The next large figures of a place come at once, for another moment is shown. */
  figures.letGo = (place) => {
    for (const id of Object.keys(figures.largeAt)) {
      if (id.startsWith(place)) delete figures.largeAt[id];
    }
  };

  const topLine = (cover) => {
    const { row, status } = hookLoad.now;
    hookLoad.setText("activity", cover ? capital(cover) : hookLoad.activityWord());
    hookLoad.setText("stand", row && row.stand > 0 ? `stand ${row.stand}` : "");
    const standing = cover || !row ? null : stillS(row);
    hookLoad.setText("still-elsewhere", standing >= 1 ? `pipe still ${hookLoad.duration(standing)}` : "");
    const run = status.run ? ` \u00b7 ${status.run}` : "";
    hookLoad.setText("rig-and-run", status.rig ? status.rig + run : "");
    hookLoad.setText("lines-strung", status.lines_strung ? `${status.lines_strung} lines` : "");
    const [word, severity] = hookLoad.health();
    hookLoad.setText("sensor-health", word);
    hookLoad.setClass("sensor-health", "doubt", severity !== "");
    hookLoad.setClass("sensor-health", "act-now", severity === "act-now");
    hookLoad.setText("data-age", ageWords());
    hookLoad.setClass("data-age", "doubt", cover !== "");
    hookLoad.setClass("data-age", "act-now", cover !== "" && cover !== "record ended");
    hookLoad.setText("rig-time", row ? `\u00b7 ${hookLoad.clock(row.time_us, true)} rig time` : "");
  };

  const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);

  const ageWords = () => {
    const age = hookLoad.ageS();
    if (age === null) return "no data yet";
    return age < 60 ? `data ${age.toFixed(1)} s old` : `data ${hookLoad.spell(age)} old`;
  };

  const hookLoadTile = (row, cover) => {
    const digits = row && hookLoad.stepped("hook-load", row.hook_load_N, "force");
    put("hook-load", digits, cover || (row ? hookLoad.why.hookLoad() : ""), { large: true });
    const width = row && hookLoad.coarse(row.expected_N, "force");
    const note = row && row.excess_N !== null && width ? `expected ${width}` : "";
    hookLoad.setText("hook-load-note", (row && overWaves()) || note);
  };

  /* On a heaving rig the load is its mean and its swing; the figure above swings with it. */
  const overWaves = () => {
    const waves = hookLoad.now.status.heave;
    if (!waves || typeof waves.load_swing_N !== "number") return "";
    const written = (si) => hookLoad.format(si, "force", { decimals: hookLoad.loadDecimals() });
    const mean = written(waves.load_mean_N);
    return `${mean === null ? "" : `mean ${mean}, `}swing ${written(waves.load_swing_N)}`;
  };

  const excessTile = (row, cover) => {
    const event = cover ? null : hookLoad.events.open();
    const tile = hookLoad.element("excess");
    tile.classList.toggle("event", event !== null);
    const severity = event && hookLoad.events.severity(event);
    tile.classList.toggle("act-now", severity === "act-now");
    tile.classList.toggle("be-ready", severity === "be-ready");
    const digits = row && hookLoad.stepped("excess", row.excess_N, "force", true);
    put("excess", digits, cover || (row ? hookLoad.why.excess() : ""), { large: true });
    hookLoad.setText("excess-word", event ? hookLoad.facts.event_names[event.kind] : "");
    let note = "";
    if (event) note = `for ${hookLoad.spell((hookLoad.now.row.time_us - event.start_us) / 1e6)}`;
    else if (row && row.excess_N !== null && row.band_N !== null) {
      note = `usual \u00b1 ${hookLoad.coarse(row.band_N, "force")}`;
    }
    hookLoad.setText("excess-note", note);
  };

  const roomTile = (row, cover) => {
    const digits = row && hookLoad.stepped("room-left", row.room_left_N, "force");
    put("room-left", digits, cover || (row ? hookLoad.why.roomLeft() : ""), { large: true });
    const over = row ? hookLoad.events.open(["over_rating"]) : null;
    hookLoad.setClass("room-left", "act-now", over !== null && over.alarm);
    hookLoad.setClass("room-left", "be-ready", over !== null && !over.alarm);
    const weakest = hookLoad.weakest();
    const note = weakest ? `to ${hookLoad.coarse(weakest.limit_N, "force")}, ${weakest.name}` : "";
    hookLoad.setText("room-left-note", digits === null || !row ? "" : note);
  };

  const whereabouts = (row, cover) => {
    const word = (why) => cover || (row ? hookLoad.why[why]() : "");
    const depth = row && hookLoad.format(row.bit_depth_m, "length");
    put("bit-depth", depth, word("bitDepth"), { smallFraction: true });
    hookLoad.setText("bit-depth-note", row ? depthNote() : "");
    const mark = cover ? null : hookLoad.now.status.next_depth_mark;
    hookLoad.setText("depth-mark", cover ? "" : mark ? markWords(mark) : noMark(row));
    hookLoad.setClass("depth-mark", "near", Boolean(mark && mark.is_near));
    put("block-speed", row && speed(row), word("blockSpeed"));
    hookLoad.setText("block-speed-note", row ? direction(row) : "");
    weightOnBit(row, cover);
    put("pipe-still", row && still(row), cover || "not known");
  };

  const speed = (row) =>
    row.block_speed_m_s === null ? null : hookLoad.format(Math.abs(row.block_speed_m_s), "speed");

  const direction = (row) => {
    if (row.block_speed_m_s === null) return "";
    const shown = Number(speed(row).replace(/,/g, ""));
    return shown === 0 ? "still" : row.block_speed_m_s > 0 ? "up" : "down";
  };

  const depthNote = () => {
    if (hookLoad.has("state", "DEPTH_UNCERTAIN")) return "not sure: confirm";
    const { depth_difference_m: difference, tally } = hookLoad.now.status;
    const notes = [];
    const reported = hookLoad.format(difference, "length", { signed: true });
    if (reported !== null) notes.push(`reported ${reported}`);
    const tallied = tally ? hookLoad.format(tally.difference_m, "length", { signed: true }) : null;
    if (tallied !== null) notes.push(`tally ${tallied}`);
    else if (tally && tally.is_lost) notes.push("tally lost");
    return notes.join(", ");
  };

  /* "905 m up, casing shoe" and below it "31.8 stands, \u2264 0.30 m/s". */
  const markWords = (mark) => {
    const [away, stands, speed] = markParts(mark);
    return `${away}, ${mark.name}\n${[stands, speed].filter(Boolean).join(", ")}`.trim();
  };

  /* In one line, the name last: it alone may be cut. */
  const markLine = () => {
    const mark = hookLoad.now.status.next_depth_mark;
    if (!mark) return noMark(hookLoad.now.row).replace("\n", " ");
    return [...markParts(mark), mark.name].filter(Boolean).join(", ");
  };

  /* Why no mark is told. */
  const noMark = (row) => {
    if (!row || row.bit_depth_m === null) return "next depth mark\nnot known";
    return "no depth mark\ngiven";
  };

  const markParts = (mark) => {
    const length = hookLoad.format(Math.abs(mark.distance_m), "length", { decimals: 0 });
    const away = [length, hookLoad.unit("length"), mark.way].filter(Boolean).join(" ");
    let [stands, speed] = ["", ""];
    if (Number.isFinite(mark.stands)) stands = `${mark.stands.toFixed(1)} stands`;
    if (mark.slow_down_m_s) {
      speed = `\u2264 ${hookLoad.format(mark.slow_down_m_s, "speed")} ${hookLoad.unit("speed")}`;
    }
    return [away, stands, speed];
  };

  /* The same in two lines, where the tiles give way to those of stuck pipe. */
  figures.where = (row, cover) => {
    if (cover || !row) return cover;
    const depth = hookLoad.format(row.bit_depth_m, "length", { decimals: 0 });
    const bit = depth === null ? "bit depth not known" : `bit ${depth} ${hookLoad.unit("length")}`;
    const standing = still(row);
    return `${bit}, pipe still ${standing === null ? "not known" : standing}\n${markLine()}`;
  };

  const weightOnBit = (row, cover) => {
    let [digits, word] = [null, cover || (row ? hookLoad.why.weightOnBit() : "")];
    if (row && row.weight_on_bit_N !== null) {
      if (hookLoad.activityCode() === "on_bottom" || row.weight_on_bit_N > 0) {
        digits = hookLoad.format(Math.max(0, row.weight_on_bit_N), "force", { decimals: 0 });
      } else {
        word = "off bottom";
      }
    }
    put("weight-on-bit", digits, word);
    const [above, below] = row && digits !== null ? bitNotes(row) : ["", ""];
    hookLoad.setText("weight-zero", above);
    hookLoad.setText("weight-on-bit-note", below);
  };

  /* How old the zero is and how far it has drifted since the last landing; or, with the block
     held, how fast the weight drills off. */
  const bitNotes = (row) => {
    if (row.drill_off_N_s !== null && row.drill_off_N_s !== undefined) {
      const rate = hookLoad.format(60 * row.drill_off_N_s, "force", { decimals: 0 });
      return [`${hookLoad.written(0 - Number(rate.replace(/,/g, "")), 0)}\nper min`, "drill-off"];
    }
    if (row.tare_age_s === null) return ["", ""];
    const { tare } = hookLoad.now.status;
    const options = { decimals: 0, signed: true };
    const drift = tare ? hookLoad.format(tare.drift_N, "force", options) : null;
    const minutes = Math.floor(row.tare_age_s / 60);
    const age = `zero\n${minutes ? `${minutes} min` : `${Math.floor(row.tare_age_s)} s`}`;
    return [age, drift === null ? "" : `drift\n${drift}`];
  };

  const stillS = (row) => (hookLoad.inSlips() ? row.string_still_s : row.still_s);

  const still = (row) => {
    const standing = stillS(row);
    return standing === null ? null : hookLoad.duration(standing);
  };
})();
