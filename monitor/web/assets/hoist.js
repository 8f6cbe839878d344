/* The Hoist page: figures and words of its panels, at most four times a second. Every figure
   comes from the recorder; here they are only written. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const LEAST_MS = 250;
  const hoist = (hookLoad.hoist = { timer: null, drawnAt: -Infinity });

  hookLoad.spoken = (name) => String(name || "").replace(/_/g, " ");

  hoist.soon = () => {
    if (hoist.timer !== null) return;
    const wait = Math.max(0, LEAST_MS - (performance.now() - hoist.drawnAt));
    hoist.timer = setTimeout(() => {
      hoist.timer = null;
      hoist.drawnAt = performance.now();
      const away = hookLoad.element("page-hoist").classList.contains("away");
      if (hookLoad.facts && !document.hidden && !away) show();
    }, wait);
  };

  const part = (hookLoad.part = (name, className, words) => {
    const element = document.createElement(name);
    if (className) element.className = className;
    if (words !== undefined) element.textContent = words;
    return element;
  });

  /* Fill a panel only when what it shows has changed: what is pressed or selected stays. */
  const fill = (holder, shown, build) => {
    const state = JSON.stringify(shown);
    if (holder.dataset.state === state) return;
    holder.dataset.state = state;
    holder.replaceChildren(...build());
  };

  hoist.amount = (si, quantity, options) => {
    const digits = hookLoad.format(si, quantity, options);
    if (digits === null) return "not known";
    const unit = hookLoad.unit(quantity);
    return unit ? `${digits} ${unit}` : digits;
  };

  const load = (si) => hoist.amount(si, "force", { decimals: hookLoad.loadDecimals() });
  const plain = (value, decimals) =>
    value === null || value === undefined ? "not known" : hookLoad.written(value, decimals);

  const row = (label, value, severity) => {
    const line = part("div", "hoist-row");
    const figure = part("span", "hoist-figure", value);
    if (severity) line.classList.add("doubted", severity);
    if (severity) line.append(part("span", `mark ${severity}`));
    line.append(part("span", "soft", label), figure);
    return line;
  };

  const large = (words, unit) => {
    const line = part("div", "hoist-large", words);
    if (unit) line.append(part("span", "soft", ` ${unit}`));
    return line;
  };

  const bar = (share, severity) => {
    const well = part("div", `hoist-bar ${severity || ""}`);
    const used = part("i");
    used.style.width = `${100 * Math.max(0, Math.min(1, share || 0))}%`;
    well.append(used);
    return well;
  };

  const soft = (words) => part("div", "soft hoist-note", words);

  /* A panel of one part of the status: the cover's word, or which key is missing, or the part.
     Buttons stand apart and stay while the figures change: a press is never lost. */
  const panel = (id, cover, found, build, pressed, press) => {
    const holder = hookLoad.element(id);
    if (!holder.firstChild) holder.append(part("div", "hoist-told"), part("div", "hoist-press"));
    const [told, buttons] = holder.children;
    const given = !cover && found;
    if (cover) fill(told, cover, () => [part("div", "hoist-word", cover)]);
    else if (!found) {
      fill(told, null, () => [
        part("div", "hoist-word missing", "not given in the rig file"),
        soft(holder.dataset.missing ? `write ${holder.dataset.missing}` : ""),
      ]);
    } else fill(told, found, build);
    fill(buttons, given && press ? [true, pressed] : null, () => (given && press ? press() : []));
  };

  const show = () => {
    const cover = hookLoad.cover();
    const told = hookLoad.now.status.hoist;
    const now = told || {};
    const word = cover || (told ? "" : "not told by this recorder");
    stringUp(now, word);
    pull(now, word);
    warnings(now, word);
    panel("ratings", word, (now.ratings || []).length ? now.ratings : null, () => ratings(now));
    panel("line-work", word, now.line_work, () => lineWork(now.line_work));
    const duty = (now.line || {}).duty;
    panel("drilling-line", word, now.line, () => drillingLine(now.line), duty, () => [
      button("Change the duty", () => hookLoad.hoistActs.changeDuty(duty)),
    ]);
    // What is counted from the last height that came is of a moment long gone.
    const without = word || (hookLoad.lacksBlock() ? hookLoad.fault() : "");
    panel("drum", without, now.drum, () => drum(now.drum));
    panel("braking", without, now.braking, () => braking(now.braking));
    hookLoad.setClass("compensator-panel", "away", !now.compensator);
    if (now.compensator) stroke(now.compensator, word);
    slipAndCut(now.slip_and_cut || {}, word);
    gear(now.gear);
    const checks = (now.preparation || []).length ? now.preparation : null;
    panel("preparation", word, checks, () => checks.map(check));
  };

  const stringUp = (now, word) => {
    const found = now.string_up;
    const holder = hookLoad.element("string-up");
    const strung = found ? found.lines_strung : hookLoad.now.status.lines_strung;
    const each = found ? `, sheaves ${plain(found.sheave_efficiency, 3)}` : "";
    hookLoad.setText("string-up-note", strung ? `${strung} lines${each}` : "");
    if (!strung) {
      holder.replaceChildren(part("div", "hoist-word", word || "not known"));
      return;
    }
    const fault = hookLoad.now.row && hookLoad.fault() ? hookLoad.fault() : "load not known";
    const why = word || (found && found.tensions_N ? "" : fault);
    hookLoad.drawStringUp(holder, found || { lines_strung: strung }, hookLoad.now.row, why);
  };

  const pull = (now, word) => {
    const put = (id, digits, words) => {
      const element = hookLoad.element(`${id}-value`);
      element.classList.toggle("word", digits === null);
      hookLoad.setText(element, digits === null ? words : digits);
    };
    const ratings = now.ratings || [];
    const weakest = ratings.find((one) => one.name === now.weakest) || ratings[0];
    const digits = word ? null : hookLoad.stepped("greatest-pull", now.greatest_pull_N, "force");
    const why = hookLoad.now.row && hookLoad.inSlips() ? "in slips" : "not known";
    put("greatest-pull", digits, word || (ratings.length ? why : "no ratings given"));
    put("weakest", null, word || (weakest ? hookLoad.spoken(weakest.name) : "no ratings given"));
    const known = !word && weakest && weakest.margin_N !== null;
    hookLoad.setText("weakest-note", known ? `room ${load(weakest.margin_N)}` : "");
    const over = known && weakest.margin_N <= 0;
    hookLoad.setClass("weakest", "act-now", over === true);
  };

  const warnings = (now, word) => {
    const list = word ? [] : now.warnings || [];
    fill(hookLoad.element("hoist-warnings"), list, () =>
      list.map((words) => {
        const line = part("div", "hoist-warning be-ready");
        line.append(part("span", "mark be-ready"), part("span", "", words));
        return line;
      })
    );
  };

  const ratings = (now) => {
    const head = part("div", "rating rating-head soft");
    head.append(part("span", "", ""), part("span", "", "bears"), part("span", "", "room"));
    const digits = (si) =>
      hookLoad.format(si, "force", { decimals: hookLoad.loadDecimals() }) || "\u2013";
    return [
      head,
      ...now.ratings.map((one) => {
        const over = one.margin_N !== null && one.margin_N <= 0;
        const line = part("div", `rating${one.name === now.weakest ? " weakest" : ""}`);
        const what = part("span", "rating-what");
        what.append(part("b", "", hookLoad.spoken(one.name)));
        const rated = [one.printed, one.rated_for].filter(Boolean).join(", ");
        what.append(part("span", "soft", rated));
        if (over) what.prepend(part("span", "mark act-now"));
        line.append(what, part("span", "", digits(one.limit_N)));
        line.append(part("b", "", digits(one.margin_N)));
        line.append(bar(one.used_share, over ? "act-now" : ""));
        return line;
      }),
    ];
  };

  const lineWork = (found) => {
    const work = (si) => hookLoad.format(si, "work");
    const over = found.goal_J !== null && found.since_cut_J !== null && found.since_cut_J > found.goal_J;
    const goal = work(found.goal_J);
    const parts = [large(work(found.since_cut_J) || "not known", goal ? `of ${goal}` : "no goal given")];
    if (goal) parts.push(bar(found.since_cut_J / found.goal_J, over ? "be-ready" : ""));
    const due = found.due_text || (typeof found.due_s === "number" ? `in ${hookLoad.spell(found.due_s)}` : "");
    const length = typeof found.length_to_cut_m === "number" ? `, ${hoist.amount(found.length_to_cut_m, "length")}` : "";
    parts.push(row(length ? `next${length}` : "next cut", due || "not known", over ? "be-ready" : ""));
    if (found.per_hour_J !== null) parts.push(row("at present", `${hoist.amount(found.per_hour_J, "work")} an hour`));
    if (typeof found.standard_J === "number") {
      const standard = hoist.amount(found.standard_J, "work");
      parts.push(row("lifted, and by the formulas", `${work(found.lifted_J)} and ${standard}`));
    }
    const cuts = Array.isArray(found.cuts) ? found.cuts : [];
    const last = cuts[cuts.length - 1];
    if (last) parts.push(row(`cut ${cuts.length}`, loggedCut(last)));
    return parts;
  };

  const loggedCut = (cut) => {
    const when = cut.when || (cut.time_us ? hookLoad.moment(cut.time_us, false) : "");
    const length = typeof cut.length_m === "number" ? hoist.amount(cut.length_m, "length") : "";
    const work = typeof cut.work_J === "number" ? `after ${hoist.amount(cut.work_J, "work")}` : "";
    return [when, length, work].filter(Boolean).join(", ");
  };

  const drillingLine = (found) => {
    const { design_factor: factor, least_design_factor: least } = found;
    const thin = typeof factor === "number" && typeof least === "number" && factor < least;
    const parts = [
      row(
        `design factor${found.duty ? ", " + hookLoad.spoken(found.duty) : ""}`,
        `${plain(factor, 1)}${typeof least === "number" ? ` (least ${plain(least, 1)})` : ""}`,
        thin ? "be-ready" : ""
      ),
    ];
    const others = (found.duties || []).filter((one) => one.least_design_factor !== least);
    if (others.length > 0) {
      const names = others.map((one) => one.duty.replace(/^(setting|pulling on) /, "")).join(", ");
      parts.push(row(`${names}: least ${plain(others[0].least_design_factor, 1)}`, `room ${load(others[0].room_N)}`));
    }
    parts.push(row("line", `${hoist.amount(found.diameter_m, "diameter")}, ${load(found.strength_N)}`));
    if (typeof found.sheave_ratio === "number") {
      const advice = found.sheave_advice ? `, ${found.sheave_advice.split(",")[0]}` : "";
      parts.push(row("sheaves", `${plain(found.sheave_ratio, 1)} diameters${advice}`));
    }
    if (typeof found.on_reel_m === "number") {
      const cuts = typeof found.cuts_on_reel === "number" ? `, ${found.cuts_on_reel} cuts` : "";
      const left = hoist.amount(found.on_reel_m, "length", { decimals: 0 });
      parts.push(row("on the reel, about", `${left}${cuts}`, found.on_reel_m < 0 ? "be-ready" : ""));
    }
    return parts;
  };

  const drum = (found) => {
    const few = typeof found.wraps_left_lowest === "number" && found.wraps_left_lowest < found.least_wraps;
    const parts = [
      large(plain(found.wraps_left_now, 1), "now"),
      row(
        `lowest (least ${plain(found.least_wraps, 0)})`,
        plain(found.wraps_left_lowest, 1),
        few ? "be-ready" : ""
      ),
    ];
    if (typeof found.layers === "number") parts.push(row("layer", plain(found.layers, 0)));
    if (typeof found.line_on_drum_m === "number") {
      parts.push(row("on it", hoist.amount(found.line_on_drum_m, "length", { decimals: 0 })));
    }
    if (typeof found.fleet_angle_rad === "number") {
      parts.push(row("fleet angle", hoist.amount(found.fleet_angle_rad, "angle")));
    }
    return parts;
  };

  const braking = (found) => {
    const length = (si) => hookLoad.format(si, "length") || "not known";
    const none = (room) => (typeof room === "number" && room <= 0 ? "act-now" : "");
    const parts = [
      large(length(found.stopping_distance_m), "to stop"),
      row("then to crown", length(found.room_to_crown_m), none(found.room_to_crown_m)),
      row("then to floor", length(found.room_to_floor_m), none(found.room_to_floor_m)),
    ];
    if (typeof found.allowed_speed_m_s === "number") {
      parts.push(row("power allows", hoist.amount(found.allowed_speed_m_s, "speed")));
    }
    if (typeof found.lifting_power_W === "number") {
      parts.push(row("lifting now", hoist.amount(found.lifting_power_W, "power")));
    }
    return parts;
  };

  const compensator = (found) => {
    const share = found.stroke_limit_m ? found.stroke_m / found.stroke_limit_m : 0;
    const known = typeof found.stroke_m === "number";
    const parts = [
      row(
        `${hookLoad.spoken(found.state) || "state not known"}, stroke`,
        `${hoist.amount(found.stroke_m, "length")} of ${hoist.amount(found.stroke_limit_m, "length")}`
      ),
      bar(known ? share : 0),
      row("load", `${load(found.load_N)} of ${load(found.load_limit_N)}`),
    ];
    const told = (label, value, words, severity) => {
      if (typeof value === "number") parts.push(row(label, words(value), severity));
    };
    const length = (si) => hoist.amount(si, "length");
    const isMeant = typeof found.load_mean_N === "number";
    const mean = isMeant ? load(found.load_mean_N) : "not known yet";
    told("over whole waves", found.load_swing_N, (swing) => `${mean}, swing ${load(swing)}`);
    told("stroke used, two minutes", found.stroke_used_m, length);
    const every = typeof found.heave_period_s === "number" ? ` every ${plain(found.heave_period_s, 1)} s` : "";
    told("heave", found.heave_amplitude_m, (half) => `\u00b1 ${length(half)}${every}`);
    const high = found.heave_height_m > found.heave_limit_m;
    const limit = ` of ${length(found.heave_limit_m)}`;
    told("highest wave", found.heave_height_m, (si) => length(si) + limit, high ? "be-ready" : "");
    told("swing left at the bit", found.swing_at_bit_N, load);
    told("elevators over sea bed", found.above_sea_bed_m, length);
    return parts;
  };

  const stroke = (found, word) => {
    const { state } = found;
    panel("compensator", word, found, () => compensator(found), state, () => [
      button(state === "open" ? "It is locked" : "It is open", () =>
        hookLoad.hoistActs.changeCompensator(state)
      ),
    ]);
  };

  const button = (words, act, className) => {
    const element = part("button", `button ${className || ""}`, words);
    element.type = "button";
    element.addEventListener("click", act);
    return element;
  };

  const slipAndCut = (found, word) => {
    const acts = hookLoad.hoistActs.slipAndCut;
    const held = hookLoad.has("state", "ALARMS_HELD");
    const active = found.active === true;
    const waiting = [].concat(found.waiting_for || []).filter(Boolean);
    const spent = found.since_us && hookLoad.now.row ? (hookLoad.now.row.time_us - found.since_us) / 1e6 : null;
    const state = active ? spell(spent, found.limit_s) : "";
    hookLoad.setClass("slip-and-cut-panel", "be-ready", !word && (active || waiting.length > 0));
    const told = () => {
      if (!active && waiting.length === 0) return [soft("not going on")];
      const head = part("div", "hoist-warning");
      const words = held ? "Alarms are held" : "Alarms are live, not all is confirmed";
      head.append(part("span", "mark be-ready"), part("b", "", words), part("span", "", state));
      return [head];
    };
    const press = () => {
      if (active) return [button("Nothing was slipped", acts.cancel), button("End", acts.end)];
      if (waiting.length === 0) return [button("Begin", acts.begin)];
      return waiting.map((what) =>
        hookLoad.hoistActs.canConfirm(what)
          ? button(`Confirm ${what}`, () => hookLoad.hoistActs.confirm(what))
          : part("div", "hoist-wait", `waits for: ${what}`)
      );
    };
    panel("slip-and-cut", word, [found, state, held], told, [active, waiting], press);
  };

  const spell = (spent, limit) => {
    if (spent === null) return "";
    return `for ${hookLoad.spell(spent)}${limit ? ` of ${hookLoad.spell(limit)}` : ""}`;
  };

  const gear = (found) => {
    const others = ((found || {}).choices || []).filter((one) => one.name !== found.name);
    const told = () => [
      large(hookLoad.spoken(found.name) || "not known", load(found.weight_N)),
    ];
    panel("gear", "", found, told, others, () =>
      others.map((one) => {
        const choice = button(hookLoad.spoken(one.name), () => hookLoad.hoistActs.changeGear(one));
        choice.dataset.gear = one.name;
        choice.append(part("span", "soft", load(one.weight_N)));
        return choice;
      })
    );
  };

  /* What people set is a button of its own; the rest is told. */
  const check = (one) => {
    const severity = one.ok === false ? "be-ready" : "";
    const state = one.state || "not known";
    if (!(one.name in hookLoad.facts.hoist_choices)) return row(one.name, state, severity);
    const change = button("", () => hookLoad.hoistActs.changePreparation(one.name, one.state), severity);
    if (severity) change.append(part("span", `mark ${severity}`));
    change.append(part("span", "soft", one.name), part("b", "", state));
    return change;
  };
})();
