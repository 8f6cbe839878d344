/* The live socket. Every message of rows bears the number of the row before it: what is held
   is dropped, a hole is asked for again, and what the server no longer holds is loaded as a
   window. The transport is never trusted. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const SILENT_MS = 4000; // a socket silent for so long is given up
  const RETRY_MS = [200, 400, 800, 1500];

  const feed = (hookLoad.feed = {
    socket: null,
    record: "",
    last: null, // number of the newest row held; null until a window is loaded
    holes: 0, // asked again, for the tests
    windows: 0,
    loading: false,
    tries: 0,
  });

  feed.start = async () => {
    while (hookLoad.facts === null) {
      try {
        const answer = await fetch("/page.json", { cache: "no-store" });
        if (answer.ok) hookLoad.facts = await answer.json();
      } catch (error) {
        if (!(error instanceof TypeError)) throw error;
      }
      if (hookLoad.facts === null) await pause(500);
    }
    hookLoad.figures.start();
    connect();
    setInterval(watch, 500);
    window.addEventListener("online", connect);
    document.addEventListener("visibilitychange", () => {
      if (!document.hidden) watch();
    });
  };

  const pause = (ms) => new Promise((done) => setTimeout(done, ms));

  const connect = () => {
    const open = feed.socket && feed.socket.readyState <= WebSocket.OPEN;
    if (open) return;
    const scheme = location.protocol === "https:" ? "wss:" : "ws:";
    const socket = new WebSocket(`${scheme}//${location.host}/live`);
    feed.socket = socket;
    feed.openedAt = performance.now();
    socket.onopen = () => (feed.last === null ? feed.loadWindow() : ask());
    socket.onmessage = (event) => {
      if (socket === feed.socket) take(JSON.parse(event.data));
    };
    socket.onclose = () => {
      if (socket !== feed.socket) return;
      const wait = RETRY_MS[Math.min(feed.tries++, RETRY_MS.length - 1)];
      setTimeout(connect, wait);
    };
  };

  /* A laptop that slept, or a server that froze, leaves a socket that never closes. */
  const watch = () => {
    const heard = Math.max(hookLoad.now.heardAt, feed.openedAt);
    if (feed.socket && performance.now() - heard > SILENT_MS) {
      const old = feed.socket;
      feed.socket = null;
      old.onclose = null;
      old.close();
      connect();
    }
  };

  const ask = () => {
    if (feed.socket && feed.socket.readyState === WebSocket.OPEN && feed.last !== null) {
      feed.socket.send(JSON.stringify({ since: feed.last, record: feed.record }));
    }
  };

  const take = (message) => {
    const now = hookLoad.now;
    if (message.build !== hookLoad.facts.build) {
      location.reload(); // the server has been replaced by another version
      return;
    }
    feed.tries = 0;
    now.heardAt = performance.now();
    now.toldAt = now.heardAt;
    now.ageS = message.age_s;
    now.staleAfterS = message.stale_after_s;
    now.pulse = message.pulse;
    if (message.kind === "rows") takeRows(message);
    else if (message.kind === "notice") takeNotice(message);
    else if (message.kind === "load_window") feed.loadWindow();
    hookLoad.figures.soon();
  };

  const takeRows = (message) => {
    if (feed.last === null || feed.loading) {
      show(message.rows[message.rows.length - 1]); // the window being loaded covers these
      return;
    }
    if (message.after > feed.last) {
      feed.holes += 1;
      ask();
      return;
    }
    const rows = message.rows.filter((row) => row[0] > feed.last);
    if (rows.length === 0) return;
    let stepped = false;
    for (const values of rows) {
      const row = show(values);
      stepped = stepped || marked(row, "EPOCH");
      hookLoad.strips.add(row);
    }
    hookLoad.now.received += rows.length;
    feed.last = rows[rows.length - 1][0];
    if (stepped) feed.loadWindow(); // the rig's clock was set: another axis of time
    hookLoad.strips.soon();
  };

  const show = (values) => {
    const row = {};
    hookLoad.facts.columns.forEach((name, at) => (row[name] = values[at]));
    if (hookLoad.now.row === null || !marked(row, "LATE")) hookLoad.now.row = row;
    return row;
  };

  const marked = (row, flag) => (row.row & hookLoad.facts.quality[flag]) !== 0;

  const takeNotice = (message) => {
    const now = hookLoad.now;
    now.status = message.status || {};
    now.events = message.events || [];
    now.alarms = message.alarms || [];
    hookLoad.alarms.changed();
    now.marks = message.marks || [];
    if (now.tripRevision !== message.trip_revision) {
      now.tripRevision = message.trip_revision;
      hookLoad.pages.tripChanged(message.trip_revision);
    }
  };

  /* The strips anew: at the start, after a long absence, for another span, for another record. */
  feed.loadWindow = async () => {
    if (feed.loading) {
      feed.again = true;
      return;
    }
    feed.loading = true;
    let loaded = false;
    try {
      const { spanS, widthS } = hookLoad.strips.wanted();
      const points = Math.ceil(spanS / widthS) + 1;
      const answer = await fetch(`/window.json?span_s=${spanS}&points=${points}`, {
        cache: "no-store",
      });
      if (answer.ok) {
        const found = await answer.json();
        hookLoad.strips.load(found.buckets, spanS, widthS);
        feed.record = found.record;
        if (found.newest) show(found.newest);
        feed.last = found.through;
        feed.windows += 1;
        loaded = found.record !== "";
      }
    } catch (error) {
      if (!(error instanceof TypeError)) throw error; // TypeError: the server is away
    }
    feed.loading = false;
    const again = feed.again;
    feed.again = false;
    if (again) feed.loadWindow();
    else if (loaded) ask();
    else setTimeout(() => feed.loadWindow(), 500);
  };
})();
