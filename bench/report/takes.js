"use strict";
// Takes seen closely: contact sheet, course over time, a replay in lines. Uses what page.js defines.
const replayView = { yaw: Math.PI - 0.6, pitch: 0.35, frame: 0, playing: false, charts: [], take: null };

function drawRankings() {
  if (data.rankings.length === 0) return;
  byId("keys").hidden = false;
  const table = byId("rankings");
  const head = element("tr");
  for (const name of ["metric", "scoring key", "best first", "changes places"]) head.append(element("th", name, { scope: "col", class: "text" }));
  table.append(element("thead"));
  table.tHead.append(head);
  const body = element("tbody");
  for (const ranking of data.rankings) {
    const rows = [{ variant: "as it is", order: ranking.order, swaps: [] }, ...ranking.variants];
    for (const row of rows) {
      const swaps = row.swaps.map((s) => `${s.below} before ${s.above}${s.decided ? ", which was better beyond its interval" : ", undecided before"}`);
      const line = element("tr");
      for (const text of [ranking.metric, row.variant, row.order.join(", "), swaps.join("; ")]) line.append(element("td", text, { class: "text wrap" }));
      body.append(line);
    }
  }
  table.append(body);
}

/// Bands for intents behind a chart, and a line at the replay's moment.
const courseMarks = {
  id: "courseMarks",
  beforeDatasetsDraw(chart) {
    const { ctx, chartArea: area, scales } = chart, course = replayView.take.course;
    ctx.save();
    course.intents.forEach(([from, to], i) => {
      ctx.fillStyle = i % 2 ? "rgba(11, 92, 140, 0.10)" : "rgba(11, 92, 140, 0.18)";
      const x = scales.x.getPixelForValue(from);
      ctx.fillRect(x, area.top, scales.x.getPixelForValue(to) - x, area.bottom - area.top);
    });
    ctx.strokeStyle = "#1c2430";
    const x = scales.x.getPixelForValue(replayView.frame / course.rate_hz);
    ctx.beginPath();
    ctx.moveTo(x, area.top);
    ctx.lineTo(x, area.bottom);
    ctx.stroke();
    ctx.restore();
  },
};

function at(list, t) {
  const found = list.find(([from, to]) => t >= from && t < to);
  return found ? found[2] : "";
}

function drawCourse(course) {
  replayView.charts.forEach((chart) => chart.destroy());
  replayView.charts = [];
  byId("course").replaceChildren();
  course.series.forEach((series, i) => {
    const box = element("div", undefined, { class: "chart course" });
    const canvas = element("canvas", undefined, { role: "img", "aria-label": `${series.name} over time` });
    box.append(canvas);
    byId("course").append(box);
    replayView.charts.push(new Chart(canvas, {
      type: "line",
      data: { datasets: [{ data: series.values.map((y, k) => ({ x: k / course.rate_hz, y })), borderColor: colours[i], borderWidth: 1.5, pointRadius: 0, spanGaps: false }] },
      options: {
        animation: false, maintainAspectRatio: false, parsing: false, interaction: { mode: "nearest", axis: "x", intersect: false },
        scales: { x: { type: "linear", min: 0, max: course.duration_s, title: { display: i === course.series.length - 1, text: "s" } }, y: { suggestedMin: 0, afterFit(axis) { axis.width = 48; } } },
        plugins: {
          legend: { display: false },
          title: { display: true, text: `${series.name}${unitOf(series)}` },
          tooltip: { callbacks: {
            title: (items) => `${number(items[0].parsed.x)} s`,
            afterBody: (items) => [at(course.beats, items[0].parsed.x), at(course.intents, items[0].parsed.x)].filter((text) => text !== ""),
          } },
        },
        onClick: (event, items, chart) => setMoment(Math.round(chart.scales.x.getValueForPixel(event.x) * course.rate_hz)),
      },
      plugins: [courseMarks],
    }));
  });
}

function drawReplay() {
  const { take, yaw, pitch } = replayView;
  if (!take || !take.replay) return;
  const canvas = byId("replay"), scale = window.devicePixelRatio || 1;
  const width = canvas.clientWidth, height = canvas.clientHeight;
  canvas.width = width * scale;
  canvas.height = height * scale;
  const ctx = canvas.getContext("2d");
  ctx.scale(scale, scale);
  const replay = take.replay, flat = replay.frames[replayView.frame];
  const [cy, sy, cp, sp] = [Math.cos(yaw), Math.sin(yaw), Math.cos(pitch), Math.sin(pitch)];
  const size = Math.min(width, height) * 1.5, eye = 3.2;
  const project = (x, y, z) => {
    const [dx, dy, dz] = [x / 1000, y / 1000 - 0.1, z / 1000 - 0.85];
    const right = cy * dx + sy * dy, away = -sy * dx + cy * dy;
    const up = cp * dz + sp * away, depth = eye + cp * away - sp * dz;
    return [width / 2 + size * right / depth, height / 2 - size * up / depth, depth];
  };
  const point = (list, i) => project(list[3 * i], list[3 * i + 1], list[3 * i + 2]);
  const line = (a, b, colour, thick) => {
    ctx.strokeStyle = colour;
    ctx.lineWidth = thick;
    ctx.lineCap = "round";
    ctx.beginPath();
    ctx.moveTo(a[0], a[1]);
    ctx.lineTo(b[0], b[1]);
    ctx.stroke();
  };
  const loop = (corners, colour) => corners.forEach((corner, i) => line(corner, corners[(i + 1) % corners.length], colour, 1.5));
  loop([0, 1, 2, 3].map((i) => point(replay.bench, i)), "#56616f");
  for (const [a, b, radius] of replay.bones) {
    const [from, to] = [point(flat, a), point(flat, b)];
    line(from, to, "rgba(213, 94, 0, 0.45)", Math.max(1.5, 2 * radius / 1000 * size / from[2]));
  }
  let last = point(replay.base, 0), k = replay.people;
  for (let i = 0; i < replay.links; ++i, ++k) {
    const next = point(flat, k);
    line(last, next, "#0072B2", 5);
    last = next;
  }
  const lens = point(flat, k), corners = [1, 2, 3, 4].map((i) => point(flat, k + i));
  line(last, lens, "#0072B2", 5);
  corners.forEach((corner) => line(lens, corner, "#1c2430", 1));
  loop(corners, "#1c2430");
  k += 5;
  ctx.font = "12px system-ui, sans-serif";
  replay.props.forEach((name, i) => {
    const [x, y] = point(flat, k + i);
    ctx.fillStyle = "#009E73";
    ctx.fillRect(x - 3, y - 3, 6, 6);
    ctx.fillStyle = "#1c2430";
    ctx.fillText(name, x + 6, y + 4);
  });
}

function setMoment(frame) {
  const { take } = replayView;
  if (!take || !take.replay) return;
  replayView.frame = Math.max(0, Math.min(take.replay.frames.length - 1, frame));
  const t = replayView.frame / take.replay.rate_hz;
  byId("moment").value = replayView.frame;
  byId("clock").textContent = `${t.toFixed(1)} s`;
  const asked = at(take.course.intents, t), said = at(take.course.sentences, t);
  byId("now").textContent = `${at(take.course.beats, t)}. ${asked ? `Asked: ${asked}.` : "Nothing is asked."}${said ? ` Said: “${said}”` : ""}`;
  drawReplay();
  replayView.charts.forEach((chart) => chart.draw());
}

function play(on) {
  replayView.playing = on;
  byId("play").textContent = on ? "Pause" : "Play";
  if (on && replayView.frame >= replayView.take.replay.frames.length - 1) setMoment(0);
  const step = () => {
    if (!replayView.playing) return;
    if (replayView.frame >= replayView.take.replay.frames.length - 1) return play(false);
    setMoment(replayView.frame + 1);
    setTimeout(step, 1000 / replayView.take.replay.rate_hz);
  };
  if (on) setTimeout(step, 0);
}

function showTake(take) {
  play(false);
  replayView.take = take;
  byId("shown-command").textContent = take.command;
  byId("shown-missing").textContent = take.missing ? `This take cannot be shown: ${take.missing}.` : "";
  byId("shown-body").hidden = Boolean(take.missing);
  if (take.missing) return;
  byId("sheet").hidden = !take.sheet;
  byId("sheet").previousElementSibling.hidden = !take.sheet;
  if (take.sheet) byId("sheet").src = take.sheet;
  replayView.frame = 0;
  byId("moment").max = take.replay.frames.length - 1;
  drawCourse(take.course);
  setMoment(0);
}

function turn(yaw, pitch) {
  replayView.yaw += yaw;
  replayView.pitch = Math.max(-0.2, Math.min(1.5, replayView.pitch + pitch));
  drawReplay();
}

drawRankings();
if (data.shown.length > 0) {
  byId("closely").hidden = false;
  data.shown.forEach((take, i) => byId("shown").append(element("option", take.title, { value: i })));
  byId("shown").addEventListener("change", () => showTake(data.shown[byId("shown").value]));
  byId("moment").addEventListener("input", () => setMoment(Number(byId("moment").value)));
  byId("play").addEventListener("click", () => play(!replayView.playing));
  const canvas = byId("replay");
  canvas.addEventListener("pointermove", (event) => { if (event.buttons & 1) turn(event.movementX * 0.01, event.movementY * 0.01); });
  canvas.addEventListener("keydown", (event) => {
    const turns = { ArrowLeft: [-0.1, 0], ArrowRight: [0.1, 0], ArrowUp: [0, 0.1], ArrowDown: [0, -0.1] }[event.key];
    if (!turns) return;
    event.preventDefault();
    turn(...turns);
  });
  window.addEventListener("resize", drawReplay);
  showTake(data.shown[0]);
}
