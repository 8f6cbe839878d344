/* The sound of alarms, made here: no file is loaded. What is to be heard is said by the record's
   status; here is only how. A browser lets nothing sound before a person has touched the page:
   until then that is said plainly. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  /* Beeps of one round, its length, and the pitch: faster and higher for what is more urgent. */
  const PATTERNS = {
    high: { beeps: 3, beepS: 0.12, pauseS: 0.08, roundS: 1.0, pitchHz: 980 },
    medium: { beeps: 2, beepS: 0.18, pauseS: 0.14, roundS: 2.0, pitchHz: 740 },
    low: { beeps: 1, beepS: 0.3, pauseS: 0, roundS: 6.0, pitchHz: 520 },
  };
  const LOUDNESS = 0.5;
  const LOOK_MS = 100;

  const sound = (hookLoad.sound = {
    context: null, // made at the first touch
    rounds: 0, // started so far, and the priority of the last
    priority: "",
    peak: 0, // greatest amplitude that went to the speaker of late
    nextAt: 0,
  });
  let out = null;
  let wave = null;

  const unlock = () => {
    if (sound.context === null) {
      if (!window.AudioContext) return;
      sound.context = new AudioContext();
      sound.context.onstatechange = () => hookLoad.facts && hookLoad.figures.soon();
      out = sound.context.createGain();
      out.gain.value = LOUDNESS;
      const meter = sound.context.createAnalyser();
      meter.fftSize = 2048;
      wave = { meter, samples: new Float32Array(meter.fftSize) };
      out.connect(meter);
      meter.connect(sound.context.destination);
    }
    if (sound.context.state !== "running") sound.context.resume();
  };

  sound.isAllowed = () => sound.context !== null && sound.context.state === "running";

  /* What keeps it from being heard, in words; "" when nothing does. */
  sound.lacks = () => {
    if (!window.AudioContext) return "this browser has no sound";
    return sound.isAllowed() ? "" : "touch once for sound";
  };

  const told = () => ((hookLoad.now.status || {}).alarms || {}).sound || {};

  /* With the connection gone nothing is known, and nothing could be answered: the page says so. */
  sound.wanted = () => (hookLoad.cover() === "no connection" ? "" : told().priority || "");

  const round = (priority, at) => {
    const { beeps, beepS, pauseS, roundS, pitchHz } = PATTERNS[priority];
    for (let beep = 0; beep < beeps; beep += 1) {
      const from = at + beep * (beepS + pauseS);
      const tone = sound.context.createOscillator();
      const shape = sound.context.createGain();
      tone.type = "triangle";
      tone.frequency.value = pitchHz;
      shape.gain.setValueAtTime(0, from);
      shape.gain.linearRampToValueAtTime(1, from + 0.01);
      shape.gain.setValueAtTime(1, from + beepS - 0.02);
      shape.gain.linearRampToValueAtTime(0, from + beepS);
      tone.connect(shape).connect(out);
      tone.start(from);
      tone.stop(from + beepS);
    }
    sound.rounds += 1;
    sound.priority = priority;
    return roundS;
  };

  const look = () => {
    if (!sound.isAllowed() || !hookLoad.facts) return;
    wave.meter.getFloatTimeDomainData(wave.samples);
    const loudest = wave.samples.reduce((most, one) => Math.max(most, Math.abs(one)), 0);
    sound.peak = Math.max(loudest, sound.peak * 0.4);
    const wanted = sound.wanted();
    const now = sound.context.currentTime;
    if (wanted === "") {
      if (sound.nextAt < now) sound.nextAt = 0;
    } else if (now >= sound.nextAt || PATTERNS[wanted].roundS < sound.nextAt - now) {
      sound.nextAt = now + round(wanted, now + 0.02);
    }
  };

  /* One round of the most urgent pattern, and whether it went all the way to the speaker. */
  sound.test = async () => {
    unlock();
    if (sound.lacks()) await new Promise((done) => setTimeout(done, 300));
    if (sound.lacks()) return false;
    sound.peak = 0;
    round("high", sound.context.currentTime + 0.02);
    for (let waited = 0; waited < 1500 && sound.peak < 0.05; waited += 50) {
      await new Promise((done) => setTimeout(done, 50));
    }
    return sound.peak >= 0.05;
  };

  /* What the sound does now, in words: on, muted and how long, held and why. */
  sound.words = () => {
    const { held, muted_until_us: until } = told();
    if (sound.lacks()) return sound.lacks();
    if (until && hookLoad.now.row !== null) {
      const left = Math.max(0, (until - hookLoad.now.row.time_us) / 1e6);
      return `muted ${hookLoad.duration(left)}`;
    }
    return held ? `held: ${held}` : "sound on";
  };

  sound.start = () => {
    for (const touch of ["pointerdown", "keydown"]) {
      window.addEventListener(touch, unlock, { capture: true });
    }
    setInterval(look, LOOK_MS);
  };
})();
