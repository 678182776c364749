// What the visit line is made of: places for names, the range of departures, what settles behind the runs.
import type { Mark, SeriesDrawn } from "../../api/types";
import { verdictWord } from "../../lib/choose";
import type { Folded } from "../../lib/folded";
import { clock, formatted } from "../../lib/format";
import { linear } from "../../lib/scale";
import { visitTexts } from "../../texts/visit";

const texts = visitTexts.line;

/** Rows of stage names, so that none covers the next. */
export const rows = 3;
export const rowHeight = 19;
export const top = rows * rowHeight + 6;
export const narrowest = 760;

export interface Post {
  stage: string;
  at: number;
  to_come: boolean;
}

export const departs = (mark: Mark) => mark.gas !== "line" && mark.finding?.value != null;

export function range(marks: Mark[]): [number, number] {
  const all = marks.filter(departs).flatMap(({ finding }) => {
    const around = (finding?.u ?? 0) * (finding?.k ?? 0);
    const value = finding?.value ?? 0;
    return [value - around, value + around, finding?.low ?? 0, finding?.high ?? 0];
  });
  const least = Math.min(-0.05, ...all);
  const most = Math.max(0.05, ...all);
  const room = 0.06 * (most - least);
  return [least - room, most + room];
}

export function spoken(mark: Mark): string {
  const basis = mark.basis.replace("_", " ");
  return `${basis}, ${clock(mark.at)}, ${mark.title}, calorific value ${formatted({ ...mark.cv, decimals: 3 })}, ${verdictWord[mark.verdict]}`;
}

// Each name in the first row where it does not cover the one before it.
export function inRows(
  posts: Post[],
  x: (at: number) => number,
  end: number,
): { post: Post; row: number; x: number }[] {
  const free = new Array<number>(rows).fill(Number.NEGATIVE_INFINITY);
  return posts.map((post) => {
    const at = x(post.at);
    const wide = post.stage.length * 7.6 + 14;
    const begin = Math.min(at, end - wide + 14);
    let row = free.findIndex((until) => until <= begin);
    if (row < 0) row = free.indexOf(Math.min(...free));
    free[row] = begin + wide;
    return { post, row, x: at };
  });
}

export function Behind({ series, at, plot }: { series: SeriesDrawn; at: Folded["at"]; plot: number }) {
  const least = Math.min(...series.values);
  const most = Math.max(...series.values);
  const y = linear(least, most, top + plot - 4, top + 12);
  const d = series.values
    .map((value, i) => `${i ? "L" : "M"}${at(series.at_ms[i] as number).toFixed(1)} ${y(value).toFixed(1)}`)
    .join("");
  const last = series.values[series.values.length - 1] as number;
  const name = series.name === "oven_c" ? texts.oven : series.name.replace("retention:", "");
  // The one is told where it begins and the other where it ends: between them they cross.
  const oven = series.name === "oven_c";
  const where = oven
    ? { x: at(series.at_ms[0] as number) - 5, y: y(series.values[0] as number) + 4 }
    : { x: at(series.at_ms[series.at_ms.length - 1] as number) + 5, y: y(last) + 16 };
  return (
    <g class={oven ? "behind oven" : "behind retention"}>
      <path d={d} />
      <text {...where} text-anchor={oven ? "end" : "start"}>
        {name} {formatted({ value: last, unit: series.unit, decimals: series.unit === "s" ? 2 : 1 })}
      </text>
    </g>
  );
}
