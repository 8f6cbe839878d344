/* The Sensor page, right: what the record says of the sensor, each in a plain sentence. */
(function () {
  "use strict";
  const hookLoad = (window.hookLoad = window.hookLoad || {});
  const sections = (hookLoad.sensorSections = {});

  const part = (...given) => hookLoad.sensor.part(...given);

  sections.load = async () => {
    const told = await hookLoad.sensor.get("sections");
    for (const [id, section] of Object.entries(told.sections || {})) show(id, section);
  };

  /* lines: plain sentences; findings: what and where to look; chart: a drawing. */
  const show = (id, section) => {
    const holder = hookLoad.element(id);
    holder.closest(".sensor-panel").classList.toggle("be-ready", section.asks === true);
    const rows = section.lines.map((words) => part("p", "", words));
    for (const found of section.findings || []) {
      const line = part("p", "sensor-finding");
      line.append(part("span", "mark be-ready"), part("b", "", found.what),
        part("span", "", ` \u2013 check: ${found.check}`));
      rows.push(line);
    }
    rows.push(...(section.notes || []).map((words) => part("p", "soft", words)));
    const chart = part("div", "sensor-chart");
    chart.id = `${id}-chart`;
    holder.replaceChildren(...rows, ...(section.chart ? [chart] : []));
    if (section.chart) hookLoad.sensor.draw(chart.id, section.chart);
  };
})();
