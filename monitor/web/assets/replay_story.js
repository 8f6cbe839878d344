/* What happened, as a written sequence; each line leads to its moment. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const story = (hookLoad.story = { found: null, view: "replay-strips", reads: 0 });
  const VIEWS = ["replay-strips", "replay-story", "replay-stuck"];
  const AROUND_US = 6 * 3600e6;
  let turn = 0;

  story.show = (view) => {
    story.view = view;
    for (const name of VIEWS) {
      document.getElementById(name).classList.toggle("away", name !== view);
      const button = document.getElementById(`replay-view-${name}`);
      button.classList.toggle("chosen", name === view);
      button.setAttribute("aria-pressed", name === view);
    }
    hookLoad.setClass(document.getElementById("page-replay"), "works", view === "replay-stuck");
    if (!hookLoad.replay.record) return;
    if (view === "replay-story" && story.found === null) story.read();
    if (view === "replay-stuck") hookLoad.workbench.show();
    hookLoad.replay.paint();
  };

  /* The span told: the marked one, else the whole of a short record, else around the moment. */
  story.span = () => {
    const { record, at } = hookLoad.replay;
    const meant = hookLoad.replay.meant();
    const [first, last] = record.span;
    if (meant.isMarked) return [meant.from, meant.to];
    if (last - first <= 4 * AROUND_US) return [first, last + 1];
    return [Math.max(first, at - AROUND_US), Math.min(last + 1, at + AROUND_US)];
  };

  story.read = () =>
    hookLoad.replay.careful(async () => {
      const mine = ++turn;
      const [from, to] = story.span();
      const holder = document.getElementById("replay-story");
      holder.replaceChildren(hookLoad.replayKnown.part("div", "soft story-head", "Reading \u2026"));
      const asked = { from_us: Math.round(from), to_us: Math.round(to) };
      let found = null;
      try {
        found = await hookLoad.replay.ask("story", asked);
      } catch (error) {
        if (mine === turn) holder.replaceChildren(head(asked, null));
        throw error;
      }
      if (mine !== turn) return;
      story.found = found;
      story.reads += 1;
      draw();
    });

  const head = (asked, found) => {
    const { part } = hookLoad.replayKnown;
    const line = part("div", "story-head");
    const stamp = hookLoad.replay.stamp;
    const left = found && found.left_out ? `, ${found.left_out} lines left out` : "";
    line.append(part("span", "soft", `${stamp(asked.from_us)} to ${stamp(asked.to_us)}${left}`));
    const again = part("button", "button", "Tell it for the span meant now");
    again.type = "button";
    again.addEventListener("click", story.read);
    line.append(again);
    return line;
  };

  const draw = () => {
    const { part } = hookLoad.replayKnown;
    const list = part("ol", "story");
    for (const line of story.found.lines) {
      const item = part("li");
      const button = hookLoad.replayKnown.leads(line.time_us, `story-line ${line.kind}${line.key ? " key" : ""}`);
      button.dataset.us = line.time_us;
      button.append(part("span", "story-time", hookLoad.replay.clock(line.time_us)));
      button.append(part("span", "story-text", line.text));
      item.append(button);
      list.append(item);
    }
    document
      .getElementById("replay-story")
      .replaceChildren(head(story.found, story.found), list, tight(), trips());
    story.mark();
  };

  /* Tight before near where it stuck, and what was usual on the last trips. */
  const tight = () => {
    const { part, leads } = hookLoad.replayKnown;
    const holder = part("div", "story-more");
    if (story.found.spells.length === 0) return holder;
    holder.append(part("h2", "", "Tight here before"));
    for (const spot of story.found.tight) {
      const line = leads(spot.time_us, "story-line");
      line.append(part("span", "story-time", hookLoad.replay.stamp(spot.time_us)));
      line.append(part("span", "story-text", spot.text));
      holder.append(line);
    }
    if (story.found.tight.length === 0) holder.append(part("p", "soft", "Not in this record"));
    return holder;
  };

  const trips = () => {
    const { part, leads } = hookLoad.replayKnown;
    const holder = part("div", "story-more stuck-tables");
    const { heads, rows } = story.found.trips;
    holder.append(part("h2", "", "Weights against expected, trip by trip"));
    if (rows.length === 0) {
      holder.append(part("p", "soft", "No trip of three stands or more"));
      return holder;
    }
    const table = part("table");
    const top = part("tr");
    top.append(...heads.map((words) => part("th", "", words)));
    table.append(top);
    for (const trip of rows) {
      const line = part("tr");
      const when = part("td");
      when.append(leads(trip.time_us, "stuck-when", hookLoad.replay.stamp(trip.time_us)));
      line.append(when, ...trip.cells.map((words) => part("td", "", words)));
      table.append(line);
    }
    holder.append(table);
    return holder;
  };

  /* The line that the moment has come to. */
  story.mark = () => {
    if (story.view !== "replay-story" || story.found === null) return;
    const lines = [...document.querySelectorAll("#replay-story .story-line")];
    let here = null;
    for (const line of lines) if (Number(line.dataset.us) <= hookLoad.replay.at) here = line;
    for (const line of lines) line.classList.toggle("here", line === here);
  };

  story.start = () => {
    for (const name of VIEWS) {
      document.getElementById(`replay-view-${name}`).addEventListener("click", () => story.show(name));
    }
    story.show("replay-strips");
  };
})();
