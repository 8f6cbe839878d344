/* The strips' points: one bucket about as wide as a pixel, least and greatest kept, so that a
   spike of one sample is never thinned away. Stamped with the newest row in it. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const LINES = ["hook_load_N", "excess_N", "block_position_m"];

  hookLoad.Buckets = class {
    constructor(spanS, widthS) {
      this.spanMs = spanS * 1000;
      this.widthMs = widthS * 1000;
      this.list = [];
      this.newestMs = -Infinity;
    }

    /* From the server's window: arrays by column, with _min and _max; what falls into one
       pixel is put together. */
    fill(found) {
      this.list = [];
      if (!found) return;
      found.time_us.forEach((timeUs, at) => {
        const bucket = this.bucketFor(timeUs / 1000);
        for (const name of LINES) {
          merge(bucket[name], found[name + "_min"][at]);
          merge(bucket[name], found[name + "_max"][at]);
          bucket[name].last = found[name][at];
        }
        bucket.expected = found.expected_N[at];
        bucket.band = found.band_N[at];
      });
    }

    bucketFor(ms) {
      let bucket = this.list[this.list.length - 1];
      if (!bucket || bucket.key !== Math.floor(ms / this.widthMs)) bucket = this.bucketAt(ms);
      bucket.ms = this.newestMs = ms;
      return bucket;
    }

    bucketAt(ms) {
      const bucket = { ms, key: Math.floor(ms / this.widthMs) };
      for (const name of LINES) bucket[name] = { low: null, high: null, last: null };
      this.list.push(bucket);
      return bucket;
    }

    add(row) {
      const ms = row.time_us / 1000;
      if (ms <= this.newestMs) return; // late: kept in the record, not drawn
      const bucket = this.bucketFor(ms);
      for (const name of LINES) merge(bucket[name], row[name]);
      bucket.expected = row.excess_N === null ? null : row.expected_N;
      bucket.band = row.band_N;
      this.trim();
    }

    trim() {
      const oldest = this.newestMs - this.spanMs - 2 * this.widthMs;
      if (this.list.length > 200 && this.list[100].ms < oldest) {
        let drop = 100;
        while (this.list[drop].ms < oldest) drop++;
        this.list.splice(0, drop - 1);
      }
    }

    /* x and y of one line, in the shown unit; null breaks it. Least and greatest stand a
       little apart, so that a steady slope is drawn as one and not as stairs. */
    line(name, shown) {
      const [x, y] = [[], []];
      const newest = this.list[this.list.length - 1];
      let before = null;
      const push = (ms, value) => {
        x.push(Math.min(ms, this.newestMs));
        y.push(value);
        before = value;
      };
      for (const bucket of this.list) {
        const { low, high, last } = bucket[name];
        const start = bucket.key * this.widthMs;
        if (low === null) {
          if (before !== null) push(bucket.ms, null);
        } else if (low === high) {
          push(bucket === newest ? bucket.ms : start + this.widthMs / 2, shown(low));
        } else {
          const ends = [shown(low), shown(high)];
          if (before !== null && Math.abs(before - ends[1]) < Math.abs(before - ends[0])) {
            ends.reverse();
          }
          push(start + this.widthMs / 4, ends[0]);
          push(start + (3 * this.widthMs) / 4, ends[1]);
          if (bucket === newest && last !== null) push(bucket.ms, shown(last));
        }
      }
      return { x, y };
    }

    /* The expected band as closed outlines, one a spell. */
    bandOutline(shown) {
      const [x, y] = [[], []];
      this.spells((b) => b.expected !== null && b.band !== null && b.excess_N.low !== null).forEach(
        (spell) => {
          const half = (b) => Math.abs(shown(b.band) - shown(0));
          outline(x, y, spell, (b) => shown(b.expected) + half(b), (b) => shown(b.expected) - half(b));
        }
      );
      return { x, y };
    }

    /* What lies beyond a limit and outside its band, as closed outlines; ``reaches`` splits them
       by how far they go. While a direction is learnt the band is wide, and nothing is wrong. */
    beyond(limitSi, sign, shown, reaches) {
      const [x, y] = [[], []];
      const far = (b) => (sign > 0 ? b.excess_N.high : b.excess_N.low);
      const over = (b) => far(b) !== null && sign * far(b) > Math.max(limitSi, b.band || 0);
      this.spells(over).forEach((spell) => {
        const most = Math.max(...spell.map((b) => sign * far(b)));
        if (!reaches(most)) return;
        outline(x, y, spell, (b) => shown(far(b)), () => shown(sign * limitSi));
      });
      return { x, y };
    }

    spells(inside) {
      const spells = [];
      let open = null;
      for (const bucket of this.list) {
        if (inside(bucket)) {
          if (open === null) spells.push((open = []));
          open.push(bucket);
        } else {
          open = null;
        }
      }
      return spells;
    }

    /* Least and greatest in view; with ``lastingMs`` the least counts only if it lasts. */
    range(name, lastingMs) {
      let [low, high] = [Infinity, -Infinity];
      const oldest = this.newestMs - this.spanMs;
      const seen = this.list.filter((b) => b[name].low !== null && b.ms >= oldest);
      const ahead = Math.round((lastingMs || 0) / this.widthMs);
      seen.forEach((bucket, at) => {
        high = Math.max(high, bucket[name].high);
        const spell = seen.slice(at, at + ahead + 1);
        low = Math.min(low, Math.max(...spell.map((b) => b[name].low)));
      });
      return low <= high ? [low, high] : null;
    }
  };

  const merge = (value, next) => {
    value.last = next;
    if (next === null || next === undefined) return;
    value.low = value.low === null ? next : Math.min(value.low, next);
    value.high = value.high === null ? next : Math.max(value.high, next);
  };

  const outline = (x, y, spell, upper, lower) => {
    if (x.length) {
      x.push(spell[0].ms);
      y.push(null);
    }
    for (const bucket of spell) {
      x.push(bucket.ms);
      y.push(upper(bucket));
    }
    for (let at = spell.length - 1; at >= 0; at--) {
      x.push(spell[at].ms);
      y.push(lower(spell[at]));
    }
    x.push(spell[0].ms);
    y.push(upper(spell[0]));
  };
})();
