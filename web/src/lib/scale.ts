// Straight scales, without DOM.

export type Scale = (value: number) => number;

/** Takes [from, to] to [start, end]; a range of no width goes to the middle. */
export function linear(from: number, to: number, start: number, end: number): Scale {
  const span = to - from;
  if (span === 0) return () => (start + end) / 2;
  return (value) => start + ((value - from) / span) * (end - start);
}

/** Milliseconds of an ISO time. */
export function instant(iso: string): number {
  return Date.parse(iso);
}

/** Whole hours strictly inside [from, to], on the clock of the offset that `from` is written in. */
export function hours(from: string, to: string): { at: number; label: string }[] {
  const sign = from.match(/([+-])(\d\d):(\d\d)$/);
  const offset = sign ? (sign[1] === "-" ? -1 : 1) * (Number(sign[2]) * 60 + Number(sign[3])) : 0;
  const shift = offset * 60_000;
  const hour = 3_600_000;
  const out: { at: number; label: string }[] = [];
  const first = Math.ceil((instant(from) + shift) / hour);
  for (let h = first; h * hour - shift <= instant(to); h += 1)
    out.push({ at: h * hour - shift, label: `${String(h % 24).padStart(2, "0")}:00` });
  return out;
}

/** Where a finding's bar stands on [0, 1]: limits, value and its interval, with room around them. */
export interface Bar {
  low: number | null;
  high: number | null;
  value: number;
  from: number;
  to: number;
}

export function bar(value: number, expanded: number, low: number | null, high: number | null): Bar | null {
  const marks = [value - expanded, value + expanded];
  if (low !== null) marks.push(low);
  if (high !== null) marks.push(high);
  if (low === null && high !== null) marks.push(Math.min(0, high)); // most one-sided limits start at zero
  const least = Math.min(...marks);
  const most = Math.max(...marks);
  if (!Number.isFinite(least) || !Number.isFinite(most)) return null;
  const room = (most - least || Math.abs(most) || 1) * 0.12;
  const at = linear(least - room, most + room, 0, 1);
  return {
    low: low === null ? null : at(low),
    high: high === null ? null : at(high),
    value: at(value),
    from: at(value - expanded),
    to: at(value + expanded),
  };
}
