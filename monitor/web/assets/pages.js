/* Which place is shown, and the trip sheet's colours. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const pages = (hookLoad.pages = {});

  pages.tripChanged = (revision) => {
    window.dash_clientside.set_props("trip-revision", { data: revision });
  };

  pages.lightChanged = (light) => {
    window.dash_clientside.set_props("theme-store", { data: light });
  };

  const dressed = (figure) => {
    const copy = hookLoad.painted(figure);
    const family = getComputedStyle(document.body).fontFamily;
    copy.layout.font = { ...copy.layout.font, family };
    return copy;
  };

  window.dash_clientside = Object.assign({}, window.dash_clientside, {
    hookLoadPages: {
      showPlace: (pathname) => {
        const trip = pathname === "/trip-sheet";
        const hoist = pathname === "/hoist";
        const sensor = pathname === "/sensor";
        hookLoad.sensor.shown(sensor);
        const replay = pathname === "/replay";
        const other = trip || hoist || sensor || replay;
        setTimeout(() => {
          hookLoad.strips.soon();
          if (hookLoad.facts) hookLoad.figures.soon();
          window.dispatchEvent(new Event("resize"));
          hookLoad.replay.shown(replay);
        }, 0);
        const shown = (name, on) => (on ? name : `${name} away`);
        return [
          shown("floor", !other), shown("trip-sheet", trip), shown("hoist", hoist),
          shown("sensor", sensor), shown("replay", replay),
        ];
      },
      paintTripPlots: (figures) => {
        const empty = { data: [], layout: {} };
        if (!figures) return Array(4).fill(window.dash_clientside.no_update);
        return [
          dressed(figures.weights || empty),
          dressed(figures.speeds || empty),
          dressed(figures.tank || empty),
          figures.tank ? "panel trip-plot" : "panel trip-plot away",
        ];
      },
    },
  });

  /* Dash fills the page a moment after this script; then everything starts. */
  const begin = () => {
    if (!document.getElementById("strips-graph") || !window.dash_clientside.set_props) {
      setTimeout(begin, 30);
      return;
    }
    hookLoad.strips.start();
    hookLoad.acts.start();
    hookLoad.caught.start();
    hookLoad.hoistActs.start();
    hookLoad.depthActs.start();
    hookLoad.alarms.start();
    hookLoad.stuck.start();
    hookLoad.sensor.start();
    hookLoad.replay.start();
    hookLoad.startLight();
    hookLoad.feed.start();
  };
  begin();
})();
