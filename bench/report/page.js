"use strict";
const data = JSON.parse(document.getElementById("data").textContent);
const byId = (id) => document.getElementById(id);
const metricNames = data.metrics.map((m) => m.name);
const metricAt = Object.fromEntries(data.metrics.map((m, i) => [m.name, i]));
// Okabe and Ito's colours, told apart by the colour-blind; points differ in form as well.
const colours = ["#0072B2", "#D55E00", "#009E73", "#CC79A7", "#E69F00", "#56B4E9", "#000000", "#999933"];
const forms = ["circle", "triangle", "rect", "star", "rectRot", "crossRot", "cross", "dash"];
const policies = data.policies.map((p) => p.label);

function element(tag, text, attributes = {}) {
  const out = document.createElement(tag);
  if (text !== undefined) out.textContent = text;
  for (const [key, value] of Object.entries(attributes)) out.setAttribute(key, value);
  return out;
}
function number(value) {
  if (value === null || value === undefined) return "–";
  const size = Math.abs(value);
  return size !== 0 && (size < 0.001 || size >= 1e5) ? value.toExponential(2) : value.toPrecision(4).replace(/\.?0+$/, "");
}
function unitOf(metric) {
  return metric.unit === "" ? "" : ` [${metric.unit}]`;
}
function fillSelect(id, chosen) {
  for (const name of metricNames) {
    const option = element("option", name, { value: name });
    option.selected = name === chosen;
    byId(id).append(option);
  }
}

/// A table whose headings sort it; rows are arrays of {text, value, note}.
function sortableTable(table, headings, rows, firstSort) {
  let sort = firstSort;
  function draw() {
    table.replaceChildren();
    const head = element("tr");
    headings.forEach((heading, i) => {
      const cell = element("th", undefined, { scope: "col" });
      if (heading.text) cell.className = "text";
      if (heading.title) cell.title = heading.title;
      if (sort.column === i) cell.setAttribute("aria-sort", sort.up ? "ascending" : "descending");
      const button = element("button", heading.name, { type: "button" });
      button.addEventListener("click", () => {
        sort = { column: i, up: sort.column === i ? !sort.up : true };
        draw();
        table.querySelectorAll("th button")[i].focus();
      });
      cell.append(button);
      head.append(cell);
    });
    table.append(element("thead"));
    table.tHead.append(head);
    const body = element("tbody");
    const key = (row) => row[sort.column].value;
    const sorted = sort.column < 0 ? rows : [...rows].sort((a, b) => {
      const x = key(a), y = key(b);
      if (x === null || y === null) return (x === null) - (y === null);
      return (x < y ? -1 : x > y ? 1 : 0) * (sort.up ? 1 : -1);
    });
    for (const row of sorted) {
      const line = element("tr");
      row.forEach((cell, i) => {
        const out = element("td", cell.text);
        if (headings[i].text) out.className = "text";
        if (cell.note) out.append(element("span", cell.note, { class: "interval" }));
        line.append(out);
      });
      body.append(line);
    }
    table.append(body);
  }
  draw();
}

function drawVerdict() {
  byId("title").textContent = data.title;
  const box = byId("verdict");
  for (const line of data.verdict) box.append(element("p", line));
  byId("caution").textContent = byId("caution-top").textContent = data.caution;
}

function drawPolicies() {
  const names = byId("columns").value === "card" ? data.card : metricNames;
  const headings = [{ name: "policy", text: true }, { name: "takes" }];
  for (const name of names) {
    const metric = data.metrics[metricAt[name]];
    headings.push({ name: `${name}${unitOf(metric)} ${metric.better}`, title: metric.meaning });
  }
  const rows = data.policies.map((policy) => {
    const mark = policy.unbeaten ? " *" : policy.deployable ? "" : " k";
    const row = [{ text: policy.label + mark, value: policy.label }, { text: policy.takes, value: policy.takes }];
    for (const name of names) {
      const cell = policy.values[metricAt[name]];
      const note = cell.interval ? `${number(cell.interval[0])} to ${number(cell.interval[1])}` : cell.value === null ? "" : "worst take";
      row.push({ text: number(cell.value), value: cell.value, note });
    }
    return row;
  });
  sortableTable(byId("policies"), headings, rows, { column: -1, up: true });
}

let scatter = null;
function drawScatter() {
  const x = byId("across").value, y = byId("up").value;
  const datasets = policies.map((label, i) => ({
    label,
    data: data.takes.filter((t) => t.policy === label && t.values[metricAt[x]] !== null && t.values[metricAt[y]] !== null)
      .map((t) => ({ x: t.values[metricAt[x]], y: t.values[metricAt[y]], take: t })),
    backgroundColor: colours[i % colours.length], borderColor: colours[i % colours.length],
    pointStyle: forms[i % forms.length], radius: 5,
  }));
  const title = (name) => {
    const metric = data.metrics[metricAt[name]];
    return { display: true, text: `${name}${unitOf(metric)}, ${metric.better} is better` };
  };
  if (scatter) scatter.destroy();
  scatter = new Chart(byId("scatter"), {
    type: "scatter",
    data: { datasets },
    options: {
      animation: false, maintainAspectRatio: false,
      scales: { x: { title: title(x) }, y: { title: title(y) } },
      plugins: {
        legend: { labels: { usePointStyle: true } },
        tooltip: { callbacks: { label: (c) => `${c.raw.take.policy}: ${c.raw.take.lesson}, ${c.raw.take.person}, seed ${c.raw.take.seed}: ${number(c.raw.x)}, ${number(c.raw.y)}` } },
      },
    },
  });
}

let lessonCharts = [];
function drawLessons() {
  const name = byId("lesson-metric").value, at = metricAt[name], metric = data.metrics[at];
  lessonCharts.forEach((chart) => chart.destroy());
  lessonCharts = [];
  byId("lessons").replaceChildren();
  const lessons = [...new Set(data.takes.map((t) => t.lesson))];
  const mean = (lesson, policy) => {
    const values = data.takes.filter((t) => t.lesson === lesson && t.policy === policy && t.values[at] !== null).map((t) => t.values[at]);
    return values.length ? values.reduce((a, b) => a + b, 0) / values.length : null;
  };
  const all = lessons.flatMap((lesson) => policies.map((policy) => mean(lesson, policy))).filter((v) => v !== null);
  for (const lesson of lessons) {
    const box = element("div", undefined, { class: "chart" });
    const canvas = element("canvas", undefined, { role: "img", "aria-label": `${name} on ${lesson} by policy` });
    box.append(canvas);
    byId("lessons").append(box);
    lessonCharts.push(new Chart(canvas, {
      type: "bar",
      data: { labels: policies, datasets: [{ data: policies.map((policy) => mean(lesson, policy)), backgroundColor: policies.map((p, i) => colours[i % colours.length]) }] },
      options: {
        animation: false, maintainAspectRatio: false, indexAxis: "y",
        scales: { x: { min: Math.min(0, ...all), max: Math.max(0, ...all) } },
        plugins: { legend: { display: false }, title: { display: true, text: `${lesson}: ${name}${unitOf(metric)}` } },
      },
    }));
  }
}

function drawTakes() {
  const wanted = byId("find").value.toLowerCase().split(/\s+/).filter((word) => word !== "");
  const name = byId("take-metric").value, at = metricAt[name], metric = data.metrics[at];
  const headings = ["lesson", "policy", "person", "sensing"].map((n) => ({ name: n, text: true }))
    .concat([{ name: "seed" }, { name: `${name}${unitOf(metric)}`, title: metric.meaning }, { name: "worst moment", text: true }]);
  const rows = data.takes.filter((take) => {
    const text = `${take.lesson} ${take.policy} ${take.person} ${take.sensing} ${take.seed}`.toLowerCase();
    return wanted.every((word) => text.includes(word));
  }).map((take) => [
    ...["lesson", "policy", "person", "sensing"].map((key) => ({ text: take[key], value: take[key] })),
    { text: take.seed, value: take.seed },
    { text: number(take.values[at]), value: take.values[at] },
    { text: take.worst[at], value: take.worst[at] },
  ]);
  sortableTable(byId("takes"), headings, rows, { column: 5, up: metric.better !== "lower" });
}

function drawRest() {
  for (const take of data.worst_takes) {
    const item = element("li", take.why + " ");
    item.append(element("br"), element("code", take.command));
    byId("worst").append(item);
  }
  for (const metric of data.metrics) {
    byId("metrics").append(element("dt", `${metric.name}${unitOf(metric)}, ${metric.better}`), element("dd", metric.meaning));
  }
  for (const [key, value] of Object.entries(data.context)) byId("context").append(element("dt", key), element("dd", String(value)));
}

fillSelect("across", "framing_error");
fillSelect("up", "closest_approach");
fillSelect("lesson-metric", "framing_error");
fillSelect("take-metric", "framing_error");
drawVerdict();
drawPolicies();
drawScatter();
drawLessons();
drawTakes();
drawRest();
byId("columns").addEventListener("change", drawPolicies);
byId("across").addEventListener("change", drawScatter);
byId("up").addEventListener("change", drawScatter);
byId("lesson-metric").addEventListener("change", drawLessons);
byId("take-metric").addEventListener("change", drawTakes);
byId("find").addEventListener("input", drawTakes);
