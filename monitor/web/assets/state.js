/* What the page knows at this moment. Every other script reads it; only feed.js writes it. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});

  const SILENT_MS = 1200; // more than two heartbeats: said within two seconds

  hookLoad.facts = null; // units and names, from /page.json
  hookLoad.now = {
    row: null, // newest row by column name
    status: {},
    events: [],
    alarms: [],
    marks: [], // changes of the number of lines
    pulse: {},
    ageS: null, // age of the data when last told, and when that was
    staleAfterS: 1.3,
    toldAt: -Infinity,
    heardAt: -Infinity, // when the server was last heard
    received: 0, // rows taken, for the tests
  };

  /* Which place the figures are painted into: "" the live ones, or in front of every id. */
  hookLoad.place = "";

  /* Paint with what was known at another moment, into another place; all of it at once. */
  hookLoad.elsewhere = (place, now, paint) => {
    const live = [hookLoad.place, hookLoad.now];
    [hookLoad.place, hookLoad.now] = [place, now];
    try {
      paint();
    } finally {
      [hookLoad.place, hookLoad.now] = live;
    }
  };

  hookLoad.element = (id) => document.getElementById(hookLoad.place + id);

  hookLoad.part = (name, className, text) => {
    const element = document.createElement(name);
    element.className = className;
    if (text !== undefined) element.textContent = text;
    return element;
  };

  hookLoad.setText = (id, text) => {
    const element = typeof id === "string" ? hookLoad.element(id) : id;
    if (element && element.textContent !== text) element.textContent = text;
  };

  hookLoad.setClass = (id, name, on) => {
    const element = typeof id === "string" ? hookLoad.element(id) : id;
    if (element) element.classList.toggle(name, on);
  };

  /* Seconds since a row last came, as far as can be told from here. */
  hookLoad.ageS = () => {
    const now = hookLoad.now;
    if (now.ageS === null) return null;
    return now.ageS + (performance.now() - now.toldAt) / 1000;
  };

  /* Why no figure may be believed, or "" when they may. */
  hookLoad.cover = () => {
    const now = hookLoad.now;
    if (performance.now() - now.heardAt > SILENT_MS) return "no connection";
    if (now.row === null || now.ageS === null) return "no data yet";
    if (hookLoad.ageS() > now.staleAfterS) return now.pulse.finished ? "record ended" : "stale";
    return "";
  };

  hookLoad.has = (set, name) => {
    const row = hookLoad.now.row;
    const bit = hookLoad.facts[set][name];
    return row !== null && bit !== undefined && row[set] !== null && (row[set] & bit) !== 0;
  };
})();
