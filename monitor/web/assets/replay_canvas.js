/* A canvas as large as its box, with the few shapes the Replay page draws. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});

  hookLoad.sheet = (canvas) => {
    const box = canvas.getBoundingClientRect();
    const [width, height] = [Math.round(box.width), Math.round(box.height)];
    if (width < 10 || height < 10) return null;
    const ratio = Math.min(window.devicePixelRatio || 1, 2);
    if (canvas.width !== width * ratio || canvas.height !== height * ratio) {
      canvas.width = width * ratio;
      canvas.height = height * ratio;
    }
    const pen = canvas.getContext("2d");
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.clearRect(0, 0, width, height);
    const size = Math.max(11, Math.min(16, window.innerHeight / 62));
    pen.font = `${size}px ${getComputedStyle(document.body).fontFamily}`;
    pen.textBaseline = "middle";
    const colour = hookLoad.token;
    const sheet = { pen, width, height, size };

    sheet.box = (x, y, w, h, name) => {
      pen.fillStyle = colour(name);
      pen.fillRect(x, y, w, h);
    };
    sheet.frame = (x, y, w, h, name, thick = 1.5) => {
      pen.strokeStyle = colour(name);
      pen.lineWidth = thick;
      pen.strokeRect(x, y, w, h);
    };
    sheet.rule = (x0, y0, x1, y1, name, thick = 1, dash = []) => {
      pen.strokeStyle = colour(name);
      pen.lineWidth = thick;
      pen.setLineDash(dash);
      pen.beginPath();
      pen.moveTo(x0, y0);
      pen.lineTo(x1, y1);
      pen.stroke();
      pen.setLineDash([]);
    };
    sheet.text = (words, x, y, align = "left", name = "--ink-soft") => {
      pen.fillStyle = colour(name);
      pen.textAlign = align;
      pen.fillText(words, x, y);
    };
    /* Triangle: act now. Square: be ready. Ring: neither. */
    sheet.mark = (x, y, r, kind) => {
      pen.beginPath();
      if (kind === "act-now") {
        pen.moveTo(x, y - r);
        pen.lineTo(x + r, y + r);
        pen.lineTo(x - r, y + r);
        pen.closePath();
        pen.fillStyle = colour("--act-now");
        pen.fill();
      } else if (kind === "be-ready") {
        sheet.box(x - 0.8 * r, y - 0.8 * r, 1.6 * r, 1.6 * r, "--be-ready");
      } else {
        pen.arc(x, y, 0.75 * r, 0, 7);
        pen.strokeStyle = colour("--ink-soft");
        pen.lineWidth = 2;
        pen.stroke();
      }
    };
    /* A line through points; null breaks it. */
    sheet.line = (xs, ys, name, thick = 1.4) => {
      pen.strokeStyle = colour(name);
      pen.lineWidth = thick;
      pen.lineJoin = "round";
      pen.beginPath();
      let isDown = false;
      for (let at = 0; at < xs.length; at++) {
        if (ys[at] === null || xs[at] === null) isDown = false;
        else if (isDown) pen.lineTo(xs[at], ys[at]);
        else {
          pen.moveTo(xs[at], ys[at]);
          isDown = true;
        }
      }
      pen.stroke();
    };
    /* Least to greatest of each bucket, so that no spike is thinned away. */
    sheet.envelope = (xs, lows, highs, name) => {
      pen.strokeStyle = colour(name);
      pen.lineWidth = 1.4;
      pen.beginPath();
      for (let at = 0; at < xs.length; at++) {
        if (lows[at] === null || highs[at] === null || Math.abs(highs[at] - lows[at]) < 1) continue;
        pen.moveTo(xs[at], lows[at]);
        pen.lineTo(xs[at], highs[at]);
      }
      pen.stroke();
    };
    return sheet;
  };

  /* The pointer on a canvas of time: press and drag go to moments, the wheel zooms. */
  hookLoad.timePointer = (canvas, timeOf) => {
    let isDown = false;
    const go = (event) => {
      const box = canvas.getBoundingClientRect();
      const us = timeOf(event.clientX - box.left, event.clientY - box.top, event.type);
      if (us !== null) hookLoad.replay.seek(us);
    };
    canvas.addEventListener("pointerdown", (event) => {
      if (event.button !== 0 || !hookLoad.replay.record) return;
      isDown = true;
      canvas.setPointerCapture(event.pointerId);
      go(event);
    });
    canvas.addEventListener("pointermove", (event) => {
      if (isDown) go(event);
    });
    for (const end of ["pointerup", "pointercancel"]) {
      canvas.addEventListener(end, () => (isDown = false));
    }
    canvas.addEventListener(
      "wheel",
      (event) => {
        if (!hookLoad.replay.record) return;
        event.preventDefault();
        const box = canvas.getBoundingClientRect();
        const us = timeOf(event.clientX - box.left, event.clientY - box.top, "wheel");
        hookLoad.replay.closer(event.deltaY < 0 ? 1 : -1, us === null ? undefined : us);
      },
      { passive: false }
    );
  };
})();
