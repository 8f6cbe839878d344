/* Scales with round numbers that stay put until they must move. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});

  hookLoad.roundStep = (span, parts) => {
    const rough = span / parts;
    const power = Math.pow(10, Math.floor(Math.log10(rough)));
    return [1, 2, 2.5, 5, 10].map((m) => m * power).find((s) => s >= rough * 0.999);
  };

  hookLoad.ticks = (low, high, step) => {
    const list = [];
    for (let at = Math.ceil(low / step - 1e-9); at * step <= high + step * 1e-9; at++) {
      list.push(at * step);
    }
    return list;
  };

  const kept = {};

  /* Round range around low..high; the one in use is kept while it fits without much waste. */
  hookLoad.scale = (axis, low, high, parts) => {
    const name = hookLoad.place + axis;
    const span = Math.max(high - low, 1e-9);
    const old = kept[name];
    if (old && low >= old.low && high <= old.high && old.high - old.low < 2.5 * span) return old;
    const step = hookLoad.roundStep(span, parts);
    const scale = {
      low: Math.floor(low / step) * step,
      high: Math.ceil(high / step) * step,
      step,
    };
    if (scale.low === scale.high) scale.high += step;
    scale.ticks = hookLoad.ticks(scale.low, scale.high, step);
    kept[name] = scale;
    return scale;
  };

  /* Ticks of rig time, on round minutes. */
  hookLoad.timeTicks = (fromMs, toMs, atMost) => {
    const steps = [10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 21600, 43200];
    const span = (toMs - fromMs) / 1000;
    const step = (steps.find((s) => span / s <= atMost) || 86400) * 1000;
    const values = hookLoad.ticks(fromMs, toMs, step);
    return { values, text: values.map((ms) => hookLoad.clock(ms * 1000, step < 60000)) };
  };
})();
