// What stands over every trace: an axis of seconds, valve events, names over peaks.
import { fixed, unitText } from "../../lib/format";
import { type Stretch, ticks } from "../../lib/plot";
import type { Axis, Pen } from "./paint";

export const secondsTicks = (seen: Stretch, count: number): Axis[] => {
  const list = ticks(seen.from, seen.to, count);
  return list.at.map((at) => ({ at, label: `${fixed(at, list.decimals)}${unitText("s")}` }));
};

export const heightText = (unit: string) => (value: number, decimals: number) =>
  `${fixed(value, decimals)}${unitText(unit)}`;

/** Dotted lines along the height; `feet`: with a mark on the floor. */
export function valveEvents(pen: Pen, events: { at_s: number }[], feet: boolean): void {
  const { ctx, x, box } = pen;
  ctx.strokeStyle = pen.colour("valve");
  ctx.fillStyle = pen.colour("valve");
  ctx.lineWidth = 1;
  for (const event of events) {
    const px = Math.round(x(event.at_s)) + 0.5;
    ctx.setLineDash([2, 4]);
    ctx.beginPath();
    ctx.moveTo(px, box.top);
    ctx.lineTo(px, box.bottom);
    ctx.stroke();
    ctx.setLineDash([]);
    if (!feet) continue;
    ctx.beginPath();
    ctx.moveTo(px - 6, box.bottom - 10);
    ctx.lineTo(px + 6, box.bottom - 10);
    ctx.lineTo(px, box.bottom);
    ctx.fill();
  }
}

export interface PeakName {
  name: string;
  at_s: number;
  /** The value of its apex. */
  top: number;
  colour: string;
}

/** Names over the peaks, each moved up until it covers no other; at the very top it stays. */
export function peakNames(pen: Pen, peaks: PeakName[]): void {
  const { ctx, x, y, box } = pen;
  ctx.font = '14px "Atkinson Hyperlegible", system-ui, sans-serif';
  ctx.textAlign = "center";
  ctx.textBaseline = "alphabetic";
  const taken: { from: number; to: number; y: number }[] = [];
  for (const peak of peaks) {
    const apex = x(peak.at_s);
    if (apex < box.left || apex > box.right) continue;
    const half = ctx.measureText(peak.name).width / 2 + 4;
    const px = Math.min(Math.max(apex, box.left + half), box.right - half);
    const top = y(peak.top);
    let py = Math.max(top - 8, box.top + 14);
    const covers = () => taken.some((t) => px - half < t.to && px + half > t.from && Math.abs(t.y - py) < 16);
    while (covers() && py - 16 > box.top + 12) py -= 16;
    if (top - py > 18) {
      ctx.strokeStyle = pen.colour("line");
      ctx.lineWidth = 1;
      ctx.setLineDash([2, 3]);
      ctx.beginPath();
      ctx.moveTo(apex, py + 4);
      ctx.lineTo(apex, top - 3);
      ctx.stroke();
      ctx.setLineDash([]);
    }
    // A rim of paper keeps a name readable where a line runs under it.
    ctx.lineWidth = 4;
    ctx.strokeStyle = pen.colour("sheet");
    ctx.strokeText(peak.name, px, py);
    ctx.fillStyle = pen.colour(peak.colour);
    ctx.fillText(peak.name, px, py);
    taken.push({ from: px - half, to: px + half, y: py });
  }
}
