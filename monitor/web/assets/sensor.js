/* The Sensor page, left: which known load, what the sensor reads now, capture. Nothing is
   judged here: whether a reading is steady and what a load means comes from the server. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const KIND_KEY = "hook-load-reference";
  const NOW_MS = 1000;
  const SPELLS_MS = 10000;
  const SECTIONS_EVERY = 3; // what changes slowly is asked for every half minute
  const sensor = (hookLoad.sensor = {
    kind: "", now: null, spells: [], onPage: false, edited: false, inputs: {}, asked: 0,
  });
  let busy = false;
  let timer = null;
  let spellsAt = -Infinity;
  let looks = 0;

  const part = (sensor.part = (name, className, text) => {
    const element = document.createElement(name);
    if (className) element.className = className;
    if (text !== undefined) element.textContent = text;
    return element;
  });

  sensor.number = (value, digits) => {
    if (value === null || value === undefined) return "\u2013";
    const text = Number(value.toPrecision(digits)).toLocaleString("en-US", {
      maximumSignificantDigits: digits,
    });
    return text.replace("-", "\u2212");
  };

  /* With a fixed number of decimals, so that digits keep their places. */
  sensor.fixed = (value, decimals, signed) =>
    value === null || value === undefined ? "\u2013" : hookLoad.written(value, decimals, signed);

  sensor.get = async (name) => {
    try {
      const answer = await fetch(`/sensor/${name}.json`, { cache: "no-store" });
      return await answer.json();
    } catch (error) {
      if (!(error instanceof TypeError) && !(error instanceof SyntaxError)) throw error;
      return { error: "no connection to the server" };
    }
  };

  sensor.post = async (name, asked) => {
    try {
      const answer = await fetch(`/sensor/${name}`, {
        method: "POST",
        headers: { "Content-Type": "application/json" },
        body: JSON.stringify(asked),
      });
      return await answer.json();
    } catch (error) {
      if (!(error instanceof TypeError) && !(error instanceof SyntaxError)) throw error;
      return { error: "no connection to the server" };
    }
  };

  sensor.keep = (key, value) => {
    try {
      window.localStorage.setItem(key, value);
    } catch (error) {
      if (!(error instanceof DOMException)) throw error;
    }
  };

  sensor.kept = (key) => {
    try {
      return window.localStorage.getItem(key) || "";
    } catch (error) {
      if (error instanceof DOMException) return ""; // storage is not allowed here
      throw error;
    }
  };

  /* A drawing from the server is a line picture of our own; nothing else comes this way. */
  sensor.draw = (id, svg) => {
    const holder = hookLoad.element(id);
    if (holder.dataset.drawn === svg) return;
    holder.dataset.drawn = svg;
    const read = new DOMParser().parseFromString(svg || "<svg/>", "image/svg+xml");
    holder.replaceChildren(document.importNode(read.documentElement, true));
  };

  sensor.tell = (words, refused) => {
    const told = hookLoad.element("sensor-told");
    told.textContent = words;
    told.classList.toggle("refused", refused === true);
  };

  const fields = () => {
    document.querySelectorAll("#page-sensor [data-input]").forEach((holder) => {
      const input = part("input");
      input.type = "text";
      input.autocomplete = "off";
      input.maxLength = 200;
      input.setAttribute("aria-label", holder.dataset.label);
      if (holder.dataset.input !== "sensor-reference" && holder.dataset.input !== "sensor-certificate") {
        input.inputMode = "decimal";
      }
      holder.replaceChildren(input);
      sensor.inputs[holder.dataset.input] = input;
    });
    document.querySelectorAll("#page-sensor [data-check]").forEach((holder) => {
      const label = part("label");
      const box = part("input");
      box.type = "checkbox";
      label.append(box, part("span", "", holder.dataset.label));
      holder.replaceChildren(label);
      sensor.inputs[holder.dataset.check] = box;
    });
  };

  sensor.choose = (kind) => {
    sensor.kind = kind;
    sensor.edited = false;
    sensor.keep(KIND_KEY, kind);
    document.querySelectorAll("#sensor-kinds .button").forEach((one) => {
      const on = one.dataset.kind === kind;
      one.classList.toggle("chosen", on);
      one.setAttribute("aria-pressed", on);
    });
    document.querySelectorAll("#sensor-kind-words .sensor-kind").forEach((one) => {
      one.hidden = one.dataset.kind !== kind;
      const percent = sensor.inputs["sensor-percent"];
      if (!one.hidden && !percent.dataset.edited) percent.value = one.dataset.percent;
    });
    showNow();
    hookLoad.sensorPoints.guide();
  };

  const isFresh = () => hookLoad.cover() === "";

  const showNow = () => {
    const holder = hookLoad.element("sensor-reading");
    const { now } = sensor;
    if (now === null) return;
    const cover = hookLoad.cover();
    const spell = now.steady;
    const trouble = cover || now.error || now.ailment;
    const value = part("div", "sensor-value", trouble && now.value === null ? "\u2013"
      : sensor.fixed(now.value, 3));
    value.append(part("span", "unit", ` ${now.unit || ""}`));
    const state = part("div", "sensor-state");
    const ready = !trouble && spell !== null && spell.why_not === "";
    state.classList.toggle("ready", ready && !spell.is_frozen);
    if (trouble) {
      if (trouble !== "record ended") state.append(part("span", "mark act-now"));
      state.append(part("b", "", [cover, now.error, now.ailment].filter(Boolean).join("; ")));
    }
    else if (spell === null) state.append(part("b", "", "moving"));
    else if (ready && spell.is_frozen) {
      state.append(part("span", "mark be-ready"),
        part("b", "", "not one reading differs: frozen?"));
    } else if (ready) state.append(part("b", "", `Steady for ${spell.seconds} s`));
    else state.append(part("b", "", spell.why_not));
    const facts = part("div", "soft", ready
      ? `mean ${sensor.fixed(spell.mean, 4)} ${now.unit}, scatter ` +
        `${sensor.number(spell.scatter, 2)}, ${spell.n_readings} readings, drift ` +
        `${sensor.number(spell.drift, 2)}`
      : "hold the load still: settling is left out, then eight seconds");
    const words = part("div", "sensor-words");
    words.append(state, facts, part("div", "soft", now.moved
      ? `block last ${now.moved}` : "block not moved far enough: friction not turned over"));
    if (isFresh() && hookLoad.has("state", "OUTSIDE_CALIBRATION")) {
      words.append(part("div", "", "beyond the points of the calibration: extrapolated"));
    }
    holder.replaceChildren(value, words);
    if (now.strip !== undefined) sensor.draw("sensor-strip", now.strip);
    load();
    hookLoad.element("sensor-capture").disabled = !ready || sensor.kind === "" || !isFresh();
  };

  const load = () => {
    const input = sensor.inputs["sensor-load"];
    const { now } = sensor;
    const label = input.closest(".field").firstElementChild;
    hookLoad.setText(label, `Known load, ${now.load_unit || ""}`);
    if (sensor.edited || document.activeElement === input) return;
    const known = sensor.kind && now.known ? now.known[sensor.kind] : null;
    input.value = known === null || known === undefined ? "" : String(Number(known.toFixed(1)));
  };

  const showSpells = () => {
    const holder = hookLoad.element("sensor-spells");
    const rows = sensor.spells.map((spell) => {
      const entry = part("button", "sensor-spell");
      entry.type = "button";
      entry.append(
        part("span", "", hookLoad.clock(spell.start_us, true)),
        part("b", "", sensor.fixed(spell.mean, 4)),
        part("span", "soft", `${spell.seconds} s`),
        part("span", "soft", spell.is_frozen ? "frozen?" : spell.moved || "not turned"),
        part("span", "", knownWords(spell))
      );
      entry.addEventListener("click", () => sensor.capture([spell.end_us], spellLoad(spell)));
      return entry;
    });
    if (!rows.length) rows.push(part("p", "soft", "none yet: hold a load still for ten seconds"));
    holder.replaceChildren(...rows);
    hookLoad.element("sensor-take-all").hidden = !takeable().length;
    hookLoad.setText("sensor-take-all", `Take all ${takeable().length} with the recorded load`);
  };

  const knownOf = (spell) => (sensor.kind ? spell.known[sensor.kind] : null);
  const knownWords = (spell) => {
    const known = knownOf(spell);
    return known === null || known === undefined ? ""
      : `${sensor.fixed(known, 1)} ${sensor.now ? sensor.now.load_unit : ""}`;
  };
  const spellLoad = (spell) => {
    const known = knownOf(spell);
    return known === null || known === undefined ? sensor.inputs["sensor-load"].value : "";
  };
  const takeable = () =>
    sensor.now && sensor.now.has_reference && sensor.kind === "load_cell"
      ? sensor.spells.filter((spell) => spell.moved && !spell.is_frozen) : [];

  sensor.capture = async (momentsUs, given) => {
    if (sensor.kind === "") {
      sensor.tell("Choose first what gives the known load", true);
      return false;
    }
    const told = await sensor.post("capture", {
      kind: sensor.kind, load: given, moments_us: momentsUs,
      as_found: sensor.inputs["sensor-as-found"].checked,
    });
    if (told.error) {
      sensor.tell(`Not taken: ${told.error}`, true);
      return false;
    }
    const taken = hookLoad.sensorPoints.add(told.header, told.lines);
    const several = momentsUs.length > 1 ? `${taken} readings taken` : "Captured";
    sensor.tell(taken ? several : "Taken already", !taken);
    sensor.edited = false;
    return true;
  };

  const takeAll = async () => {
    const button = hookLoad.element("sensor-take-all");
    button.disabled = true;
    await sensor.capture([...takeable()].reverse().map((spell) => spell.end_us), "");
    button.disabled = false;
  };

  const look = async () => {
    timer = null;
    if (!sensor.onPage) return;
    if (!busy) {
      busy = true;
      if (performance.now() - spellsAt > SPELLS_MS) {
        spellsAt = performance.now();
        const found = await sensor.get("spells");
        if (!found.error) sensor.spells = found.spells || [];
        sensor.now = found;
        hookLoad.sensorVersions.load();
        looks += 1;
        if (looks % SECTIONS_EVERY === 1) hookLoad.sensorSections.load();
      } else {
        sensor.now = await sensor.get("now");
      }
      busy = false;
      sensor.asked += 1;
      showNow();
      showSpells();
    }
    again();
  };

  const again = () => {
    if (timer === null && sensor.onPage) timer = setTimeout(look, NOW_MS);
  };

  /* Asks only while the page is looked at. */
  sensor.shown = (on) => {
    sensor.onPage = on;
    spellsAt = -Infinity;
    looks = 0;
    if (on && sensor.inputs["sensor-load"]) look();
  };

  sensor.start = () => {
    fields();
    hookLoad.element("sensor-kinds").addEventListener("click", (event) => {
      const button = event.target.closest("[data-kind]");
      if (button) sensor.choose(button.dataset.kind);
    });
    sensor.inputs["sensor-load"].addEventListener("input", () => (sensor.edited = true));
    sensor.inputs["sensor-percent"].addEventListener("input", (event) => {
      event.target.dataset.edited = "yes";
    });
    hookLoad.element("sensor-capture").addEventListener("click", () =>
      sensor.capture([sensor.now.steady.end_us], sensor.inputs["sensor-load"].value.trim())
    );
    hookLoad.element("sensor-take-all").addEventListener("click", takeAll);
    hookLoad.sensorPoints.start();
    hookLoad.sensorSurvey.start();
    sensor.choose(sensor.kept(KIND_KEY));
    if (sensor.onPage) look();
  };
})();
