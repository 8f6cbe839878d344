/* The newest events, and the one that asks for an answer. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const events = (hookLoad.events = { shown: "" });
  const SEEN_AT_ONCE = 20;
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

  /* What asks for an answer: an alarm before an event that is only to be ready for. */
  events.show = () => {
    const { now } = hookLoad;
    const alarm = hookLoad.alarms.asking();
    const own = alarm && now.events.find((event) => event.id === alarm.event_id);
    const asking = alarm
      ? own || { ...ofAlarm(alarm), end_us: alarm.returned_us }
      : now.events
          .filter(
            (event) =>
              !isSeen(event) && !isMeant(event) && !isAside(event)
          )
          .reduce((most, one) => (!most || urgency(one) > urgency(most) ? one : most), null);
    const height = hookLoad.element("event-list").clientHeight;
    const agreed = alarm ? hookLoad.alarms.beyondAgreed(alarm.kind) : "";
    const state = JSON.stringify([
      now.events, now.alarms, agreed, [...hookLoad.acts.waiting], height, hookLoad.light(),
      (now.status.alarms || {}).shelved, (now.status.stuck_mode || {}).on,
    ]);
    if (state === events.shown) return;
    events.shown = state;
    card(asking, alarm, agreed);
    const without = hookLoad.alarms.present().filter(
      (one) => !now.events.some((event) => event.id === one.event_id)
    );
    list([...without.map(ofAlarm), ...now.events].filter((event) => event.id !== (asking || {}).id));
  };

  /* An alarm that no event of the list raised, in the form of one. */
  const ofAlarm = (alarm) => ({
    id: alarm.id, kind: alarm.kind, start_us: alarm.raised_us, end_us: alarm.returned_us,
    bit_depth_m: null, peak_excess_N: null, why: alarm.why, alarm: alarm.priority !== "low",
    acknowledged_us: alarm.acknowledged_us,
  });

  /* While stuck pipe is worked, pulls are meant: they stand in the list only. */
  const isMeant = (event) => hookLoad.stuck.isMeant(event.kind);

  const isAside = ({ kind }) => hookLoad.alarms.isShelved(kind) || hookLoad.alarms.isOut(kind);

  /* Seen, and with it what is over and older of the same kind: one press, not ten. */
  const see = (event) => {
    const older = hookLoad.now.events.filter(
      (one) => one.kind === event.kind && !isSeen(one) && !isOpen(one) && one.id !== event.id &&
        one.start_us <= event.start_us
    );
    [event, ...older.slice(0, SEEN_AT_ONCE)].forEach((one) => hookLoad.acts.acknowledge(one.id));
  };

  const part = (...given) => hookLoad.part(...given);

  const severity = (event) => (event.alarm && !isAside(event) ? "act-now" : "be-ready");
  /* Of the load as it is now: none for a pull that is meant and within what was agreed. */
  events.severity = (event) => (hookLoad.stuck.isCalm(event.kind) ? "" : severity(event));
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

  const card = (event, alarm, agreed) => {
    const holder = hookLoad.element("event-card");
    holder.className = "event-card";
    if (event === null) {
      holder.replaceChildren();
      return;
    }
    holder.classList.add("event", alarm ? hookLoad.alarms.severity(alarm) : severity(event));
    const words = part("div", "event-words");
    const since = isOpen(event)
      ? `since ${hookLoad.moment(event.start_us, true)}`
      : `${hookLoad.moment(event.start_us, true)} to ${hookLoad.clock(event.end_us, true)}` +
        (alarm ? "" : ", over");
    words.append(part("div", "event-name", name(event)));
    words.append(part("div", "event-where", [depth(event), since].filter(Boolean).join(", ")));
    if (alarm) words.append(part("div", "event-state", hookLoad.alarms.notes(alarm)));
    if (agreed) words.append(part("div", "event-agreed", agreed));
    else if (event.why) words.append(part("div", "event-why", event.why));
    const seen = part("button", "button seen", "Seen");
    seen.type = "button";
    seen.dataset.event = event.id;
    seen.setAttribute("aria-keyshortcuts", "s");
    seen.addEventListener("click", () => see(event));
    holder.replaceChildren(part("span", "mark"), words, seen);
  };

  const words = (event) => {
    if (hookLoad.alarms.isShelved(event.kind)) return "shelved";
    if (hookLoad.alarms.isOut(event.kind)) return "alarm out of service";
    const alarm = hookLoad.alarms.of(event);
    return alarm && alarm.first_up && hookLoad.alarms.isUnseen(alarm) ? "first up" : "";
  };

  const list = (rest) => {
    const holder = hookLoad.element("event-list");
    if (rest.length === 0 && hookLoad.now.events.length === 0) {
      holder.replaceChildren(part("div", "event-none", "No events yet"));
      return;
    }
    const rows = rest.map((event) => {
      const row = part("div", "event-row");
      row.append(part("span", `mark ${markOf(event)}`));
      const notes = [isOpen(event) ? "goes on" : "", words(event)].filter(Boolean);
      row.append(part("span", "event-what", [name(event), ...notes].join(", ")));
      // Beside a note there is no room for the depth.
      const places = [notes.length ? "" : depth(event), hookLoad.moment(event.start_us)];
      const where = places.filter(Boolean).join(" \u00b7 ");
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
