/* The newest events, and the one that asks for an answer. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const events = (hookLoad.events = { shown: "" });
  const ON_THE_LOAD = ["stuck", "overpull", "slack_off", "weight_loss", "light", "jar_blow"];

  const isSeen = (event) => event.acknowledged_us !== null || hookLoad.acts.waiting.has(event.id);
  const isOpen = (event) => event.end_us === null;
  const urgency = (event) => (event.alarm ? 2 : 0) + (isOpen(event) ? 1 : 0);

  /* The most urgent open event of some kinds; about the load, it stands beside the excess. */
  events.open = (kinds) => {
    const open = hookLoad.now.events.filter(
      (event) => isOpen(event) && (kinds || ON_THE_LOAD).includes(event.kind)
    );
    return open.reduce((most, one) => (!most || urgency(one) > urgency(most) ? one : most), null);
  };

  events.show = () => {
    const { now } = hookLoad;
    const asking = now.events
      .filter((event) => !isSeen(event))
      .reduce((most, one) => (!most || urgency(one) > urgency(most) ? one : most), null);
    const height = hookLoad.element("event-list").clientHeight;
    const state = JSON.stringify([now.events, [...hookLoad.acts.waiting], height, hookLoad.light()]);
    if (state === events.shown) return;
    events.shown = state;
    card(asking);
    list(now.events.filter((event) => event !== asking));
  };

  const part = (name, className, text) => {
    const element = document.createElement(name);
    element.className = className;
    if (text !== undefined) element.textContent = text;
    return element;
  };

  const severity = (event) => (event.alarm ? "act-now" : "be-ready");
  const markOf = (event) => (isSeen(event) && !isOpen(event) ? "over" : severity(event));

  const name = (event) => {
    const words = hookLoad.facts.event_names[event.kind] || event.kind;
    const load = ["overpull", "slack_off", "weight_loss", "light", "zero_drift"].includes(event.kind);
    if (!load || event.peak_excess_N === null) return words;
    const sign = event.kind === "overpull" || event.kind === "zero_drift" ? 1 : -1;
    return `${words} ${hookLoad.format(sign * event.peak_excess_N, "force", { decimals: hookLoad.loadDecimals(), signed: true })}`;
  };

  const depth = (event) => {
    const value = hookLoad.format(event.bit_depth_m, "length", { decimals: 0 });
    return value === null ? "" : `${value} ${hookLoad.unit("length")}`;
  };

  const card = (event) => {
    const holder = hookLoad.element("event-card");
    holder.className = "event-card";
    if (event === null) {
      holder.replaceChildren();
      return;
    }
    holder.classList.add("event", severity(event));
    const words = part("div", "event-words");
    const since = isOpen(event)
      ? `since ${hookLoad.moment(event.start_us, true)}`
      : `${hookLoad.moment(event.start_us, true)} to ${hookLoad.clock(event.end_us, true)}, over`;
    words.append(part("div", "event-name", name(event)));
    words.append(part("div", "event-where", [depth(event), since].filter(Boolean).join(", ")));
    if (event.why) words.append(part("div", "event-why", event.why));
    const seen = part("button", "button seen", "Seen");
    seen.type = "button";
    seen.dataset.event = event.id;
    seen.addEventListener("click", () => hookLoad.acts.acknowledge(event.id));
    holder.replaceChildren(part("span", "mark"), words, seen);
  };

  const list = (rest) => {
    const holder = hookLoad.element("event-list");
    if (hookLoad.now.events.length === 0) {
      holder.replaceChildren(part("div", "event-none", "No events yet"));
      return;
    }
    const rows = rest.map((event) => {
      const row = part("div", "event-row");
      row.append(part("span", `mark ${markOf(event)}`));
      const open = isOpen(event) ? ", goes on" : "";
      row.append(part("span", "event-what", name(event) + open));
      const where = [depth(event), hookLoad.moment(event.start_us)].filter(Boolean).join(" \u00b7 ");
      row.append(part("span", "soft", where));
      return row;
    });
    holder.replaceChildren(...rows);
    const room = holder.clientHeight; // no row is cut through the middle
    rows.forEach((row) => {
      if (row.offsetTop - holder.offsetTop + row.offsetHeight > room + 1) row.remove();
    });
  };
})();
