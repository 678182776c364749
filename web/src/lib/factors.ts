// What a picture of factors needs to be laid out; the numbers are the program's.
import type { FactorMark, FactorPair, FactorSet } from "../api/types";

/** The stretch of percent that holds every mark with its whisker and the limits, zero inside, room on either side. */
export function rangeOf(set: FactorSet): { from: number; to: number } {
  const all = set.marks.flatMap(({ finding }) => {
    const around = (finding.u ?? 0) * finding.k;
    const value = finding.value ?? 0;
    return [value - around, value + around, finding.low ?? 0, finding.high ?? 0];
  });
  const from = Math.min(-0.1, ...all);
  const to = Math.max(0.1, ...all);
  const room = 0.06 * (to - from);
  return { from: from - room, to: to + room };
}

/** With whom a component stands in the wrong order. */
export function disordered(component: string, pairs: FactorPair[]): string[] {
  return pairs.flatMap(({ lower, higher }) =>
    lower === component ? [higher] : higher === component ? [lower] : [],
  );
}

/** Marks with the detector they belong to, a heading wherever that changes. */
export function byDetector(marks: FactorMark[]): { detector: number; marks: FactorMark[] }[] {
  const out: { detector: number; marks: FactorMark[] }[] = [];
  for (const mark of marks) {
    const there = out.find((each) => each.detector === mark.detector);
    if (there) there.marks.push(mark);
    else out.push({ detector: mark.detector, marks: [mark] });
  }
  return out.sort((a, b) => a.detector - b.detector);
}
