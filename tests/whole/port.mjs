// A port to another language, written from the words of the JSON file alone: 'steps' and both 'how'.
// node port.mjs ROBOT.json VECTORS.csv prints the answers, one call a line.
import { readFileSync } from "node:fs";

const [file, vectors] = process.argv.slice(2).map((name) => readFileSync(name, "utf8"));
const robot = JSON.parse(file);
const { parts, steer, table, formula, turn_steps_for_1: one } = robot;
const drive = robot.speed.filter((output) => "top" in output);

const held = (number, low, high) => Math.max(low, Math.min(high, number));
const rounded = (number) => Math.sign(number) * Math.floor(Math.abs(number) + 0.5);
const quotient = (number, by) => Math.sign(number) * Math.floor((2 * Math.abs(number) + by) / (2 * by));
const lastNotAbove = (starts, step) => starts.findLastIndex((start) => start <= step);

function fromTable(step) {
  const segment = table.segments[lastNotAbove(table.segments.map((each) => each.first), step)];
  const rows = table.rows.slice(segment.row, segment.row + segment.rows);
  const at = lastNotAbove(rows.map((row) => row[0]), step);
  const [first, ...values] = rows[at];
  return values.map((value, i) => {
    let found = value;
    if (step > first) {
      const [next, ...after] = rows[at + 1];
      found += quotient((after[i] - value) * (step - first), next - first);
    }
    const shift = table.shift[i];
    return shift < 0 ? found * 2 ** -shift : quotient(found, 2 ** shift);
  });
}

function fromFormula(step) {
  const s = step / one;
  const ahead = 1 - Math.abs(s);
  const pieces = formula.pieces[lastNotAbove(formula.starts, step)];
  const angles = formula.angles.map((angle, i) => {
    const piece = pieces[i];
    let found = piece.offset;
    if (piece.follows === 1) {
      const [vx, vy] = [ahead + s * angle.ax, s * angle.ay];
      const size = Math.hypot(vx, vy);
      found += Math.atan2(vy, vx);
      if (size > 0) found += piece.lead * Math.asin(held((s * angle.ex) / size, -1, 1));
    } else if (piece.follows === 2) {
      const terms = [ahead * ahead, ahead * s, s * s];
      const sum = (numbers) => numbers.reduce((total, number, k) => total + number * terms[k], 0);
      found += Math.atan2(sum(piece.group.slice(3)), sum(piece.group.slice(0, 3))) / 2;
    }
    return held(found / angle.ratio, angle.low, angle.high);
  });
  const targets = formula.angles.map((angle, i) => rounded(angle.told + angle.told_per_rad * angles[i]));
  const speeds = formula.rollings.map((wheels) => {
    let sum = 0;
    for (const wheel of wheels) {
      const t = wheel.built_in + (wheel.angle < 0 ? 0 : wheel.ratio * angles[wheel.angle]);
      const [vx, vy] = [ahead + s * wheel.ax, s * wheel.ay];
      sum += wheel.weight * (vx * Math.cos(t) + vy * Math.sin(t) - s * wheel.ey);
    }
    return rounded(sum);
  });
  return [...targets, ...speeds];
}

function numbersAt(step) {
  const found = table ? fromTable(step) : formula ? fromFormula(step) : [];
  return found.map((number, i) =>
    parts.clamp && i < steer.length ? held(number, steer[i].low, steer[i].high) : number);
}

let step = 0;
const place = numbersAt(0).slice(0, steer.length);
const rest = place.map(() => 0);

function input(value) {
  const whole = rounded(held(value, -1000, 1000));
  return Math.abs(whole) <= parts.dead_band_permille ? 0 : whole;
}

function call(name, a, b, time) {
  let [left, right] = Number.isNaN(a) || Number.isNaN(b) ? [0, 0] : [input(a), input(b)];
  if (name === "stick") {
    [left, right] = [left - right, left + right];
    const larger = Math.max(Math.abs(left), Math.abs(right));
    if (larger > 1000) [left, right] = [quotient(left * 1000, larger), quotient(right * 1000, larger)];
  }
  const ms = Number.isNaN(time) ? 0 : Math.floor(held(time, 0, robot.most_ms));
  let fast = Math.max(Math.abs(left), Math.abs(right));
  const sense = left + right < 0 ? -1 : 1;
  if (fast > 0) {
    step = held(quotient(sense * (right - left) * one, 2 * fast), robot.first_step, robot.last_step);
  }
  const numbers = numbersAt(step);
  const [target, full] = [numbers.slice(0, steer.length), numbers.slice(steer.length)];
  if (parts.limiter || parts.hold) {
    steer.forEach((output, i) => {
      const budget = rest[i] + output.per_second * ms;
      const most = Math.floor(budget / 1000);
      const way = target[i] - place[i];
      [place[i], rest[i]] = Math.abs(way) <= most
        ? [target[i], 0] : [place[i] + Math.sign(way) * most, budget % 1000];
    });
  }
  if (parts.scaling) {
    drive.forEach((output, i) => {
      const size = Math.abs(full[i]);
      if (size * fast > 1000 * output.top) fast = Math.floor((1000 * output.top) / size);
    });
  }
  const waits = parts.hold && steer.some((output, i) => Math.abs(place[i] - target[i]) > output.hold_within);
  if (waits) fast = Math.floor((fast * parts.creep_permille) / 1000);
  const slower = quotient(sense * fast * (one - 2 * Math.abs(step)), one);
  const sides = step > 0 ? [slower, sense * fast] : [sense * fast, slower];
  const speeds = drive.length ? full.map((number) => quotient(number * sense * fast, 1000)) : sides;
  return [...(parts.limiter ? place : target), ...speeds, waits ? 1 : 0];
}

for (const line of vectors.trim().split(/\r?\n/).slice(1)) {
  const [name, ...words] = line.split(",");
  // Adding 0 turns -0 into 0.
  console.log(call(name, ...words.slice(0, 3).map(Number)).map((number) => number + 0).join(" "));
}
