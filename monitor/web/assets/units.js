/* Writes numbers: units and steps come from the server, nothing is decided here. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const MINUS = "\u2212";

  const grouped = (digits) => digits.replace(/\B(?=(\d{3})+(?!\d))/g, ",");

  hookLoad.shown = (si, quantity) => {
    const unit = hookLoad.facts.units[quantity];
    return (si - unit.offset) / unit.scale;
  };

  hookLoad.unit = (quantity) => (hookLoad.facts ? hookLoad.facts.units[quantity].unit : "");

  hookLoad.written = (value, decimals, signed) => {
    const text = Math.abs(value).toFixed(decimals);
    const zero = Number(text) === 0;
    const [whole, fraction] = text.split(".");
    const sign = zero ? "" : value < 0 ? MINUS : signed ? "+" : "";
    return sign + grouped(whole) + (fraction ? "." + fraction : "");
  };

  /* An SI value as text with the decimals of the display set, or the given ones. */
  hookLoad.format = (si, quantity, options) => {
    if (si === null || si === undefined) return null;
    const { decimals, signed } = options || {};
    const places = decimals === undefined ? hookLoad.facts.units[quantity].decimals : decimals;
    return hookLoad.written(hookLoad.shown(si, quantity), places, signed);
  };

  const held = {};

  /* Another moment: no figure of a place holds on to what it showed. */
  hookLoad.letGo = (place) => {
    for (const name of Object.keys(held)) if (name.startsWith(place)) delete held[name];
  };

  /* Large figures go in steps, and stay where they are until the value has clearly left the
     step: digits that flicker cannot be read at three metres. */
  hookLoad.stepped = (figure, si, quantity, signed) => {
    const name = hookLoad.place + figure;
    if (si === null || si === undefined) {
      delete held[name];
      return null;
    }
    const { step, decimals } = hookLoad.facts.units[quantity];
    const value = hookLoad.shown(si, quantity);
    if (!step) return hookLoad.written(value, decimals, signed);
    if (!(name in held) || Math.abs(value - held[name]) > 0.65 * step) {
      held[name] = Math.round(value / step) * step;
    }
    return hookLoad.written(held[name], step % 1 === 0 ? 0 : 1, signed);
  };

  /* Decimals of a load in small print: one where the large figures step by less than one. */
  hookLoad.loadDecimals = () => (hookLoad.facts.units.force.step < 1 ? 1 : 0);

  /* Several loads in the step's size, for small print beside the large figures. */
  hookLoad.coarse = (si, quantity, signed) => {
    if (si === null || si === undefined) return null;
    const { step } = hookLoad.facts.units[quantity];
    const value = Math.round(hookLoad.shown(si, quantity) / (step || 1)) * (step || 1);
    return hookLoad.written(value, step % 1 === 0 ? 0 : 1, signed);
  };

  hookLoad.clock = (timeUs, seconds) => {
    const zone = hookLoad.now.status.time_zone || "UTC";
    const key = zone + (seconds ? "s" : "");
    hookLoad.clocks = hookLoad.clocks || {};
    if (!hookLoad.clocks[key]) hookLoad.clocks[key] = clockOf(zone, seconds);
    return hookLoad.clocks[key].format(timeUs / 1000);
  };

  /* With the day in front where it is not the day of the newest row. */
  hookLoad.moment = (timeUs, seconds) => {
    const newest = hookLoad.now.row;
    const day = dayOf(timeUs);
    const clock = hookLoad.clock(timeUs, seconds);
    return newest === null || day === dayOf(newest.time_us) ? clock : `${day} ${clock}`;
  };

  const days = {};
  const dayOf = (hookLoad.day = (timeUs) => {
    const zone = hookLoad.now.status.time_zone || "UTC";
    days[zone] = days[zone] || dateIn(zone);
    return days[zone].format(timeUs / 1000);
  });

  const dateIn = (zone) => inZone({ day: "numeric", month: "short" }, zone);

  const clockOf = (zone, seconds) => {
    const form = { hour: "2-digit", minute: "2-digit", hourCycle: "h23" };
    if (seconds) form.second = "2-digit";
    return inZone(form, zone);
  };

  const inZone = (form, zone) => {
    try {
      return new Intl.DateTimeFormat("en-GB", { ...form, timeZone: zone });
    } catch (error) {
      if (!(error instanceof RangeError)) throw error;
      return new Intl.DateTimeFormat("en-GB", { ...form, timeZone: "UTC" });
    }
  };

  /* 0:07, 12:45, 1:03:20 */
  hookLoad.duration = (seconds) => {
    const whole = Math.max(0, Math.floor(seconds));
    const two = (number) => String(number).padStart(2, "0");
    const [h, m, s] = [Math.floor(whole / 3600), Math.floor(whole / 60) % 60, whole % 60];
    return h ? `${h}:${two(m)}:${two(s)}` : `${m}:${two(s)}`;
  };

  hookLoad.spell = (seconds) => {
    if (seconds < 60) return `${Math.max(0, Math.floor(seconds))} s`;
    if (seconds < 3600) return `${Math.floor(seconds / 60)} min ${Math.floor(seconds % 60)} s`;
    if (seconds < 172800) {
      return `${Math.floor(seconds / 3600)} h ${Math.floor((seconds / 60) % 60)} min`;
    }
    return `${Math.floor(seconds / 86400)} days`;
  };
})();
