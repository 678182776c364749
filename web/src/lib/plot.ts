// What a plot shows of its axes, without DOM: windows that are panned and zoomed, and ticks.

/** The stretch of x that is seen. */
export interface Stretch {
  from: number;
  to: number;
}

export const span = (s: Stretch): number => s.to - s.from;

/** Inside `limits`, never wider than they are and never narrower than `least`. */
export function held(wanted: Stretch, limits: Stretch, least: number): Stretch {
  const whole = span(limits);
  const width = Math.min(Math.max(span(wanted), Math.min(least, whole)), whole);
  const middle = (wanted.from + wanted.to) / 2;
  const from = Math.min(Math.max(middle - width / 2, limits.from), limits.to - width);
  return { from, to: from + width };
}

export function panned(s: Stretch, by: number, limits: Stretch): Stretch {
  const from = Math.min(Math.max(s.from + by, limits.from), limits.to - span(s));
  return { from, to: from + span(s) };
}

/** `factor` under 1 shows less; what stands at `at` stays where it is seen. */
export function zoomed(s: Stretch, at: number, factor: number, limits: Stretch, least: number): Stretch {
  const width = Math.min(Math.max(span(s) * factor, Math.min(least, span(limits))), span(limits));
  const share = span(s) > 0 ? (at - s.from) / span(s) : 0.5;
  const from = at - share * width;
  return held({ from, to: from + width }, limits, least);
}

/** Round numbers over [from, to], about `count` of them, and how many decimals they need. */
export function ticks(from: number, to: number, count: number): { at: number[]; decimals: number } {
  const range = to - from;
  if (!(range > 0) || !Number.isFinite(range)) return { at: [], decimals: 0 };
  const rough = range / Math.max(1, count);
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = ([1, 2, 5, 10].find((m) => m * power >= rough * 0.999) ?? 10) * power;
  const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const at: number[] = [];
  for (let i = Math.ceil(from / step - 1e-9); i * step <= to + step * 1e-9; i += 1)
    at.push(Number((i * step).toFixed(decimals)));
  return { at, decimals };
}

/** Round numbers for heights by their square root: about evenly spaced as they are seen. */
export function rootTicks(low: number, high: number, count: number): { at: number; decimals: number }[] {
  const range = high - low;
  if (!(range > 0) || !Number.isFinite(range)) return [];
  const n = Math.max(2, Math.floor(count));
  const out: { at: number; decimals: number }[] = [];
  for (let k = 1; k <= n; k += 1) {
    const exact = low + (k / n) ** 2 * range;
    // No finer than a third of the way to the neighbour.
    const power = 10 ** Math.floor(Math.log10((range * (2 * k - 1)) / (n * n)));
    const at = Math.round(exact / power) * power;
    const decimals = Math.max(0, -Math.floor(Math.log10(power) + 1e-9));
    const tidy = Number(at.toFixed(decimals));
    if (tidy > (out.at(-1)?.at ?? low) && tidy <= high) out.push({ at: tidy, decimals });
  }
  return out;
}

const minute = 60_000;
const hour = 60 * minute;
const dayMs = 24 * hour;
const steps = [
  minute,
  5 * minute,
  15 * minute,
  hour,
  3 * hour,
  6 * hour,
  12 * hour,
  dayMs,
  2 * dayMs,
  7 * dayMs,
];
const months = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

const dayText = (d: Date) => `${d.getUTCDate()} ${months[d.getUTCMonth()]}`;

/** Ticks of a time axis, milliseconds of UTC: minutes, hours, days, months or years. */
export function timeTicks(from: number, to: number, count: number): { at: number; label: string }[] {
  const rough = (to - from) / Math.max(1, count);
  if (!(rough > 0)) return [];
  const step = steps.find((s) => s >= rough);
  const out: { at: number; label: string }[] = [];
  if (step !== undefined) {
    for (let at = Math.ceil(from / step) * step; at <= to; at += step) {
      const d = new Date(at);
      const label =
        step < dayMs && d.getUTCHours() + d.getUTCMinutes() > 0 ? d.toISOString().slice(11, 16) : dayText(d);
      out.push({ at, label });
    }
    // Hours of one day: the first says of which.
    const first = out[0];
    if (first && out.every(({ label }) => label.includes(":")))
      out[0] = { at: first.at, label: `${dayText(new Date(first.at))} ${first.label}` };
    return out;
  }
  const every = [1, 2, 3, 6, 12, 24, 60, 120].find((m) => m * 30 * dayMs >= rough) ?? 120;
  const first = new Date(from);
  let month = Math.ceil((first.getUTCFullYear() * 12 + first.getUTCMonth()) / every) * every;
  for (let guard = 0; guard < 400; guard += 1, month += every) {
    const at = Date.UTC(Math.floor(month / 12), month % 12, 1);
    if (at > to) break;
    const d = new Date(at);
    if (at >= from)
      out.push({
        at,
        label:
          d.getUTCMonth() === 0
            ? String(d.getUTCFullYear())
            : `${months[d.getUTCMonth()]} ${d.getUTCFullYear() % 100}`,
      });
  }
  return out;
}

/** Index of the first t at or after x; t rises. */
export function firstAtOrAfter(t: ArrayLike<number>, x: number): number {
  let low = 0;
  let high = t.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((t[middle] ?? 0) < x) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** The line's value at x, straight between its points; null outside of them. */
export function valueAt(t: ArrayLike<number>, y: ArrayLike<number>, x: number): number | null {
  const i = firstAtOrAfter(t, x);
  if (t.length === 0 || i >= t.length || x < (t[0] ?? 0)) return null;
  const right = y[i] ?? 0;
  if (i === 0 || t[i] === x) return right;
  const a = t[i - 1] ?? 0;
  const b = t[i] ?? 0;
  const left = y[i - 1] ?? 0;
  return left + ((right - left) * (x - a)) / (b - a);
}

/** Lowest and highest of the points within a stretch and one more on either side. */
export function extremes(t: ArrayLike<number>, y: ArrayLike<number>, s: Stretch): [number, number] | null {
  const first = Math.max(0, firstAtOrAfter(t, s.from) - 1);
  const last = Math.min(t.length - 1, firstAtOrAfter(t, s.to));
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (let i = first; i <= last; i += 1) {
    const value = y[i] ?? 0;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  return low <= high ? [low, high] : null;
}
