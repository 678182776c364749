// A line of time on which hours without anything take little room: a visit has its job pack days before it and
// its late evidence days after.

export interface Piece {
  from: number;
  to: number;
  start: number;
  end: number;
}

export interface Folded {
  /** Where an instant (ms) stands. */
  at: (ms: number) => number;
  /** Stretches drawn to scale, in order; between two of them time is folded. */
  pieces: Piece[];
}

const hour = 3_600_000;

/**
 * Instants in ms, any order. Gaps longer than `longest` ms are folded to `fold` of width; the rest shares what is
 * left of [start, end] to scale.
 */
export function folded(
  instants: number[],
  start: number,
  end: number,
  longest = 3 * hour,
  fold = 34,
): Folded {
  const sorted = [...new Set(instants)].sort((a, b) => a - b);
  const first = sorted[0] ?? 0;
  const spans: [number, number][] = [[first, first]];
  for (const instant of sorted) {
    const span = spans[spans.length - 1] as [number, number];
    if (instant - span[1] > longest) spans.push([instant, instant]);
    else span[1] = instant;
  }
  const room = Math.max(0, end - start - fold * (spans.length - 1));
  // A stretch of one instant still has a width, else nothing could stand in it.
  const least = 10 * 60_000;
  const lengths = spans.map(([from, to]) => Math.max(to - from, least));
  const whole = lengths.reduce((sum, length) => sum + length, 0);
  const pieces: Piece[] = [];
  let x = start;
  spans.forEach(([from], i) => {
    const length = lengths[i] as number;
    const width = (room * length) / whole;
    pieces.push({ from, to: from + length, start: x, end: x + width });
    x += width + fold;
  });
  const at = (ms: number) => {
    let before: Piece | null = null;
    for (const piece of pieces) {
      if (ms < piece.from) {
        if (!before) return piece.start;
        const share = (ms - before.to) / (piece.from - before.to);
        return before.end + share * (piece.start - before.end);
      }
      if (ms <= piece.to)
        return piece.start + ((ms - piece.from) / (piece.to - piece.from)) * (piece.end - piece.start);
      before = piece;
    }
    return before ? before.end : start;
  };
  return { at, pieces };
}

/** Whole hours that have room in a piece, with their label on the clock of `offset` minutes. */
export function ticks(piece: Piece, offset: number): { at: number; label: string }[] {
  const perHour = ((piece.end - piece.start) * hour) / (piece.to - piece.from);
  const every = [1, 2, 3, 6, 12, 24].find((n) => n * perHour >= 48) ?? 24;
  const shift = offset * 60_000;
  const out: { at: number; label: string }[] = [];
  for (let h = Math.ceil((piece.from + shift) / hour); h * hour - shift <= piece.to; h += 1)
    if (h % every === 0)
      out.push({ at: h * hour - shift, label: `${String(((h % 24) + 24) % 24).padStart(2, "0")}:00` });
  return out;
}

/** Minutes that an ISO time is ahead of UTC. */
export function offsetOf(iso: string): number {
  const sign = iso.match(/([+-])(\d\d):(\d\d)$/);
  return sign ? (sign[1] === "-" ? -1 : 1) * (Number(sign[2]) * 60 + Number(sign[3])) : 0;
}
