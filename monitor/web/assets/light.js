/* Day, night, and dim for the dark of the night; kept on this machine. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const LIGHTS = ["night", "dim", "day"];
  const NAMES = { night: "Night", dim: "Dim", day: "Day" };
  const KEY = "hook-load-light";
  let tokens = {};

  const kept = () => {
    try {
      return window.localStorage.getItem(KEY);
    } catch (error) {
      if (error instanceof DOMException) return null; // storage is not allowed here
      throw error;
    }
  };

  const set = (light) => {
    document.documentElement.dataset.light = light;
    tokens = {};
    try {
      window.localStorage.setItem(KEY, light);
    } catch (error) {
      if (!(error instanceof DOMException)) throw error;
    }
  };

  hookLoad.light = () => document.documentElement.dataset.light;

  hookLoad.token = (name) => {
    if (!(name in tokens)) {
      tokens[name] = getComputedStyle(document.documentElement).getPropertyValue(name).trim();
    }
    return tokens[name];
  };

  /* A figure in which colours are names of tokens, with their values. */
  hookLoad.painted = (part) => {
    if (typeof part === "string") return part.startsWith("--") ? hookLoad.token(part) : part;
    if (Array.isArray(part)) return part.map(hookLoad.painted);
    if (part === null || typeof part !== "object") return part;
    const copy = {};
    for (const [key, value] of Object.entries(part)) copy[key] = hookLoad.painted(value);
    return copy;
  };

  const next = () => LIGHTS[(LIGHTS.indexOf(hookLoad.light()) + 1) % LIGHTS.length];

  const buttons = () => document.querySelectorAll(".button.light");

  const label = () => {
    for (const button of buttons()) {
      hookLoad.setText(button, NAMES[next()]);
      button.setAttribute("aria-label", `Change to ${NAMES[next()].toLowerCase()} colours`);
    }
  };

  hookLoad.startLight = () => {
    for (const button of buttons()) {
      button.addEventListener("click", () => {
        set(next());
        label();
        hookLoad.pages.lightChanged(hookLoad.light());
        hookLoad.strips.soon();
        hookLoad.figures.soon();
        hookLoad.replay.paint();
      });
    }
    label();
    hookLoad.pages.lightChanged(hookLoad.light());
  };

  set(LIGHTS.includes(kept()) ? kept() : "night");
})();
