// How what settles is laid out; fits, limits and times are the program's.
import type { SettlingQuantity, SettlingSource } from "../api/types";

/** The clock on site at `t_s` of a source, "14:05"; seconds where the file knows no day. */
export function timeAt(start: string | null, t_s: number): string {
  if (start === null) return `${Math.round(t_s)}\u202fs`;
  const sign = start.match(/([+-])(\d\d):(\d\d)$/);
  const offset = sign ? (sign[1] === "-" ? -1 : 1) * (Number(sign[2]) * 60 + Number(sign[3])) : 0;
  return new Date(Date.parse(start) + t_s * 1000 + offset * 60_000).toISOString().slice(11, 16);
}

/** Round steps of time over [from, to] seconds of a source, about `count` of them. */
export function timeSteps(start: string | null, from: number, to: number, count: number): number[] {
  const rough = (to - from) / Math.max(1, count);
  if (!(rough > 0) || !Number.isFinite(rough)) return [];
  const step =
    [60, 300, 600, 900, 1800, 3600, 7200, 10_800, 21_600, 43_200, 86_400].find((s) => s >= rough) ?? 86_400;
  // On the clock's own round minutes: those of the site's offset are whole quarters of an hour at least.
  const zero = start === null ? 0 : -((Date.parse(start) / 1000) % step);
  const out: number[] = [];
  for (let t = zero + Math.ceil((from - zero) / step) * step; t <= to; t += step) out.push(t);
  return out;
}

const rank = ({ name }: SettlingQuantity) =>
  name === "oven_c" ? 0 : name.startsWith("retention:") ? 1 : name === "total" ? 2 : 3;

/** What decides when it is at rest: the oven, and of each other kind the one that comes to rest last. */
export function slowest(source: SettlingSource): SettlingQuantity[] {
  const judged = source.quantities.filter((each) => each.limit !== null && each.values.length > 1);
  const later = (a: SettlingQuantity, b: SettlingQuantity) =>
    Number(a.settled) - Number(b.settled) || (b.ready_at_s ?? 0) - (a.ready_at_s ?? 0);
  const out: SettlingQuantity[] = [];
  for (const kind of [0, 1, 2, 3]) {
    const first = judged.filter((each) => rank(each) === kind).sort(later)[0];
    if (first) out.push(first);
  }
  return out.length > 0 ? out : source.quantities.slice(0, 3);
}

/** From the first reading to where its curve ends, or a little beyond the last reading; `now` inside when it is near. */
export function spanOf(source: SettlingSource, now: number | null): { from: number; to: number } {
  const times = source.quantities.flatMap((each) => [
    each.at_s[0] ?? 0,
    each.at_s[each.at_s.length - 1] ?? 0,
  ]);
  const curves = source.quantities.flatMap((each) => each.curve[each.curve.length - 1]?.t_s ?? []);
  const from = Math.min(...times);
  const last = Math.max(...times);
  const length = Math.max(1, last - from);
  // What is foretold far off is not drawn to its end, else the readings would be a speck.
  let to = Math.min(Math.max(last + 0.05 * length, ...curves), last + 1.5 * length);
  if (now !== null && now > last && now < last + length) to = Math.max(to, now + 0.03 * length);
  return { from, to };
}

/**
 * Lowest and highest of what is drawn: readings that count, the curve, and the limits around its end. `near`: only six
 * limits on either side of that end.
 */
export function heightOf(quantity: SettlingQuantity, to: number, near = false): { from: number; to: number } {
  if (near && quantity.end_value !== null && quantity.limit !== null)
    return { from: quantity.end_value - 6 * quantity.limit, to: quantity.end_value + 6 * quantity.limit };
  const all = quantity.values.filter((_, i) => quantity.used[i]);
  for (const point of quantity.curve) if (point.t_s <= to) all.push(point.low, point.high);
  if (quantity.end_value !== null && quantity.limit !== null)
    all.push(quantity.end_value - quantity.limit, quantity.end_value + quantity.limit);
  // The band of the first readings can be far wider than anything that happened.
  const readings = quantity.values.filter((_, i) => quantity.used[i]);
  const low = Math.min(...readings);
  const high = Math.max(...readings);
  const room = Math.max(high - low, 2 * (quantity.limit ?? 0)) || Math.abs(high) * 1e-3 || 1;
  const from = Math.max(Math.min(...all), low - 1.5 * room);
  const most = Math.min(Math.max(...all), high + 1.5 * room);
  const air = 0.06 * (most - from || room);
  return { from: from - air, to: most + air };
}
