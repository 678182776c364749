// The valve programme while it is played with: events moved in steps of the analyser, and taken back.
import type { ProgrammeEvent, TwinPeak } from "../api/types";

/** To the analyser's step, without the rounding's tail. */
export function stepped(at_s: number, step_s: number): number {
  return Number((Math.round(at_s / step_s) * step_s).toFixed(6));
}

export function moved(
  programme: ProgrammeEvent[],
  index: number,
  at_s: number,
  step_s: number,
  cycle_s: number,
): ProgrammeEvent[] {
  const to = Math.min(cycle_s, Math.max(0, stepped(at_s, step_s)));
  return programme.map((event, i) => (i === index && !event.fixed ? { ...event, at_s: to } : event));
}

export function same(a: ProgrammeEvent[], b: ProgrammeEvent[]): boolean {
  return (
    a.length === b.length && a.every((event, i) => event.at_s === b[i]?.at_s && event.action === b[i]?.action)
  );
}

/** The events of `given` in the order of `programme`: the same action is the same event. */
export function ordered<T extends { action: string }>(programme: ProgrammeEvent[], given: T[]): (T | null)[] {
  const left = [...given];
  return programme.map((event) => {
    const at = left.findIndex((each) => each.action === event.action);
    return at < 0 ? null : (left.splice(at, 1)[0] ?? null);
  });
}

/** Peaks that lose or gain more than they may beyond the least that was seen of them, or are gone. */
export type Worse = Set<string>;
type Shares = Pick<TwinPeak, "component" | "lost_percent" | "gained_percent">;

export function worseThan(now: (Shares & Pick<TwinPeak, "limit_percent">)[], least: Shares[]): Worse {
  const out: Worse = new Set();
  for (const peak of now) {
    const best = least.find((each) => each.component === peak.component);
    const over = (value: number, from: number | undefined) =>
      value - Math.max(0, from ?? 0) > peak.limit_percent;
    if (over(peak.lost_percent, best?.lost_percent) || over(peak.gained_percent, best?.gained_percent))
      out.add(peak.component);
  }
  for (const peak of least)
    if (!now.some((each) => each.component === peak.component)) out.add(peak.component);
  return out;
}
