"use strict";
// The best formula at any targets of the limits, from the bases in the data; each is proven anew from the numbers there.
const fine = 1e-8, better = 1e-9;
const dot = (one, two) => { let sum = 0; for (let j = 0; j < one.length; j++) sum += one[j] * two[j]; return sum; };

// Solve M x = right and M' y = left at once, by elimination with the largest pivot of each column; null where M has no inverse.
function solved(matrix, right, left) {
  const size = right.length, lu = matrix.map(row => Float64Array.from(row)), order = [...right.keys()];
  for (let k = 0; k < size; k++) {
    let top = k;
    for (let i = k + 1; i < size; i++) if (Math.abs(lu[i][k]) > Math.abs(lu[top][k])) top = i;
    if (Math.abs(lu[top][k]) < 1e-13) return null;
    [lu[k], lu[top]] = [lu[top], lu[k]]; [order[k], order[top]] = [order[top], order[k]];
    for (let i = k + 1; i < size; i++) {
      const factor = lu[i][k] /= lu[k][k];
      if (factor) for (let j = k + 1; j < size; j++) lu[i][j] -= factor * lu[k][j];
    }
  }
  const x = order.map(i => right[i]), u = Float64Array.from(left), y = new Float64Array(size);
  for (let i = 0; i < size; i++) for (let j = 0; j < i; j++) x[i] -= lu[i][j] * x[j];
  for (let i = size - 1; i >= 0; i--) { for (let j = i + 1; j < size; j++) x[i] -= lu[i][j] * x[j]; x[i] /= lu[i][i]; }
  for (let i = 0; i < size; i++) { for (let j = 0; j < i; j++) u[i] -= lu[j][i] * u[j]; u[i] /= lu[i][i]; }
  for (let i = size - 1; i >= 0; i--) for (let j = i + 1; j < size; j++) u[i] -= lu[j][i] * u[j];
  for (let i = 0; i < size; i++) y[order[i]] = u[i];
  return { x, y };
}

// What a piece of a property is of a formula; null where its group is not in it.
function valueOf(piece, x) {
  const group = piece.d ? dot(piece.d, x) : 1;
  return group <= 1e-12 ? null : dot(piece.n, x) / group;
}

// All that is worked out from the data: the answer at a position, and the value of a property.
function reckoning(data) {
  const width = data.cost.length;
  const costs = Float64Array.from(data.cost), low = Float64Array.from(data.low), high = Float64Array.from(data.high);
  const dearest = 1 + Math.max(...data.cost.map(Math.abs));
  const dense = entries => { const all = new Float64Array(width); for (const [j, value] of entries) all[j] = value; return all; };
  const rows = data.rows.map(row => ({ ...row, a: dense(row.a), g: row.g && dense(row.g) }));
  const places = data.places.map(place => ({ ...place, last: 0 }));
  const pieces = list => list.map(piece => ({ ...piece, n: dense(piece.n), d: piece.d && dense(piece.d) }));
  const choices = data.choices.map(ways => ways.map(way => pieces(way)));
  const properties = data.properties.map(property => ({ ...property, pieces: pieces(property.pieces) }));

  function moved(position) {
    return rows.map(row => {
      const change = row.k < 0 ? 0 : position[row.k];
      if (!change) return { a: row.a, b: row.b, s: row.s };
      const a = row.g ? row.a.map((value, j) => value - change * row.g[j]) : row.a;
      return { a, b: row.b + change * row.p, s: row.s };
    });
  }

  // A basis at the rows as they stand: its point, the duals of all rows, and whether they prove that it is the best there.
  function read(place, basis, now) {
    const count = place.r.length, basic = new Uint8Array(width + count), columns = [], tight = [];
    for (const j of basis[0]) { basic[j] = 1; if (j < width) columns.push(j); }
    for (let i = 0; i < count; i++) if (!basic[width + i]) tight.push(i);
    if (tight.length !== columns.length) return null;
    const x = Float64Array.from(low), y = new Float64Array(count), top = new Set(basis[1]);
    for (const j of top) x[j] = high[j];
    for (const j of columns) x[j] = 0;
    const matrix = tight.map(i => columns.map(j => now[place.r[i]].a[j]));
    const right = tight.map(i => now[place.r[i]].b - dot(now[place.r[i]].a, x));
    const both = solved(matrix, right, columns.map(j => costs[j]));
    if (!both) return null;
    columns.forEach((j, k) => { x[j] = both.x[k]; });
    tight.forEach((i, k) => { y[i] = both.y[k]; });
    let best = true;
    const reduced = Float64Array.from(costs);
    for (let i = 0; i < count; i++) {
      const row = now[place.r[i]];
      if (y[i]) {
        for (let j = 0; j < width; j++) reduced[j] -= y[i] * row.a[j];
        if (row.s && row.s * y[i] < -fine * dearest) best = false;
      } else {
        let size = 1 + Math.abs(row.b);
        for (let j = 0; j < width; j++) size += Math.abs(row.a[j] * x[j]);
        const room = dot(row.a, x) - row.b;
        if ((row.s ? row.s * room : -Math.abs(room)) < -fine * size) best = false;
      }
    }
    for (let j = 0; j < width; j++) {
      if (x[j] < low[j] - fine || x[j] > high[j] + fine) best = false;
      if (!basic[j] && low[j] < high[j] && (top.has(j) ? -reduced[j] : reduced[j]) < -fine * dearest) best = false;
    }
    return { x: x.map((value, j) => Math.min(high[j], Math.max(low[j], value))), y, best };
  }

  // What nothing in a place costs less than, by any row weights whatever: weak duality.
  function bound(place, now, weights, prices) {
    const reduced = Float64Array.from(prices);
    let sum = 0;
    place.r.forEach((number, i) => {
      const row = now[number], weight = row.s > 0 ? Math.max(0, weights[i]) : row.s < 0 ? Math.min(0, weights[i]) : weights[i];
      if (!weight) return;
      sum += weight * row.b;
      for (let j = 0; j < width; j++) reduced[j] -= weight * row.a[j];
    });
    for (let j = 0; j < width; j++) sum += Math.min(reduced[j] * low[j], reduced[j] * high[j]);
    return sum;
  }
  const none = new Float64Array(width);
  const empty = (place, now) => place.rays.some(ray => {
    const weights = new Float64Array(place.r.length);
    for (const [i, weight] of ray) weights[i] = weight;
    return bound(place, now, weights, none) > 1e-9;
  });

  function misses(piece, x, position) {
    const value = valueOf(piece, x), target = piece.t + (piece.k < 0 ? 0 : position[piece.k]);
    return value !== null && piece.s * (target - value) > 1e-8 * (1 + Math.abs(target));
  }
  const keeps = (x, position) => choices.every(ways => ways.some(way => !way.some(piece => misses(piece, x, position))));

  let winner = 0;
  function at(position) {
    const now = moved(position);
    let best = null, proven = true, nothing = true;
    for (const place of [places[winner], ...places.filter((_, i) => i !== winner)]) {
      if (empty(place, now)) continue;
      nothing = false;
      const enough = best ? best.value - better * (1 + Math.abs(best.value)) : Infinity;
      let least = -Infinity;
      for (let turn = 0; turn < place.bases.length && least < enough; turn++) {
        const number = (place.last + turn) % place.bases.length, here = read(place, place.bases[number], now);
        if (!here) continue;
        if (!here.best) { least = Math.max(least, bound(place, now, here.y, costs)); continue; }
        least = dot(costs, here.x); place.last = number;
        if (least < enough && keeps(here.x, position)) {
          best = { ...here, value: least, place }; least = Infinity;
        }
        break;
      }
      place.least = least;
    }
    if (!best) return { status: nothing ? "none" : "unknown" };
    winner = places.indexOf(best.place);
    const enough = best.value - better * (1 + Math.abs(best.value));
    proven = places.every(place => place === best.place || empty(place, now) || place.least >= enough);
    const prices = new Float64Array(data.sliders.length);
    best.place.r.forEach((number, i) => {
      const row = rows[number];
      if (row.k >= 0 && best.y[i]) prices[row.k] += Math.abs(best.y[i]) * (row.p + (row.g ? dot(row.g, best.x) : 0)) / data.scale;
    });
    return { status: proven ? "best" : "open", value: best.value, x: Array.from(best.x), prices: Array.from(prices) };
  }

  function value(number, x) {
    const property = properties[number], all = property.pieces.map(piece => valueOf(piece, x)).filter(each => each !== null);
    return all.length ? Math[property.join](...all) : null;
  }
  return { at, value, places };
}

// Half to even of the number as it is written, as everywhere else; a browser rounds it in binary, half of it up.
const shown = (value, digits = 2) => {
  if (value === null) return "not known";
  const [, part = ""] = String(value).split("."), half = part.length === digits + 1 && part.endsWith("5");
  const down = Number(String(value).slice(0, -1)), odd = String(value).at(digits ? -2 : -3) % 2;
  const even = half ? down + odd * Math.sign(value) * 10 ** -digits : value;
  return even.toFixed(digits).replace(/^-(?=[0.]*$)/, "");
};

// Where the hand leaves a limit: at a figure as it is shown, within its travel; near the brief's own target there.
function stopped(slider, value) {
  if (Math.abs(value - slider.target) < (slider.high - slider.low) / 2000) return slider.target;
  const within = at => at >= slider.low - 1e-6 && at <= slider.high + 1e-6, near = Number(shown(value));
  const at = [near, Number(shown(near - 0.01)), Number(shown(near + 0.01))].find(within);
  return at === undefined ? slider.target : at;
}

// The sheet in an element that holds its body. `drawn` hears of each answer and of the limits that stand elsewhere than
// in the brief, as pairs of their number and target.
function living(root, data, drawn = () => {}) {
  const { at, value, places } = reckoning(data), position = new Float64Array(data.sliders.length);
  const byId = id => root.querySelector(`#${id}`);
  const say = (node, words) => { if (node.textContent !== words) node.textContent = words; }; // told once by a reader
  const lines = data.names.map((name, j) => byId(`line-${j}`)), faint = root.querySelectorAll(".answer");
  const targets = data.sliders.map(slider => slider.target), first = at(position);
  let waiting = true; // until it is drawn for the first time

  function draw() {
    waiting = false;
    const answer = at(position);
    say(byId("status"), `${data.words[answer.status]}${little(answer.x ?? [])}`);
    for (const part of faint) part.classList.toggle("held", !answer.x);
    if (answer.x) show(answer);
    drawn(answer, targets.flatMap((target, k) => position[k] ? [[k, target]] : []));
  }
  function little(x) {
    const names = data.names.filter((_, j) => x[j] > 1e-9 && x[j] < data.least[j] * (1 - 1e-6));
    return names.length ? ` ${data.words.little}: ${names.join("; ")}.` : "";
  }
  function show({ x, prices }) {
    const goal = data.goal < 0 ? null : value(data.goal, x);
    say(byId("goal"), data.goal < 0 ? "" : `${shown(goal, data.places_of_goal)} ${data.goal_unit}`);
    const change = goal === null ? 0 : goal - value(data.goal, first.x);
    const against = `${change > 0 ? "+" : "-"}${shown(Math.abs(change), data.places_of_goal)} ${data.words.against}`;
    say(byId("change"), Math.abs(change) < 5e-5 ? data.words.start : against);
    lines.forEach((line, j) => {
      line.hidden = x[j] <= 1e-9;
      if (line.hidden) return;
      line.children[1].textContent = shown(data.capped[j] ? Math.floor(1e4 * x[j] + 1e-4) / 100 : 100 * x[j]);
      line.children[2].textContent = shown(1000 * data.batch * x[j], 1);
      line.querySelector(".bar").style.width = `${100 * x[j]}%`;
    });
    data.sliders.forEach((slider, k) => {
      const price = prices[k], note = byId(`note-${k}`), target = targets[k];
      const end = target + 0.01 > slider.high && slider.ends_high || target - 0.01 < slider.low && slider.ends_low;
      const saves = price > 1e-9 ? `${data.words.just}: ${data.words.saves} ${shown(price, 3)} ${slider.per}` : "";
      note.textContent = [end ? data.words.ends : "", data.prices ? saves : price > 1e-9 ? data.words.just : ""].filter(Boolean).join(" · ");
      note.classList.toggle("just", price > 1e-9);
    });
    data.properties.forEach((property, k) => {
      const place = byId(`value-${k}`);
      if (place) place.textContent = `${shown(value(k, x))} ${property.unit}`;
    });
  }
  function stand(k, target) {
    const slider = data.sliders[k], words = `${shown(target)} ${slider.unit}`;
    targets[k] = target; position[k] = target - slider.target;
    byId(`target-${k}`).textContent = words;
    byId(`slider-${k}`).setAttribute("aria-valuetext", words);
    if (!waiting) { waiting = true; requestAnimationFrame(draw); }
  }
  function move(k, target) {
    byId(`slider-${k}`).value = target;
    stand(k, stopped(data.sliders[k], target));
  }
  data.sliders.forEach((slider, k) => {
    byId(`slider-${k}`).addEventListener("input", event => stand(k, stopped(slider, Number(event.target.value))));
    stand(k, slider.target);
  });
  byId("back").addEventListener("click", () => {
    data.sliders.forEach((slider, k) => move(k, slider.target));
    draw();
  });
  draw();
  return { at, places, move };
}
