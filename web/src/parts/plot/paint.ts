// What a plot is painted with: lines over an axis of x, heights even or by their square root.
import { firstAtOrAfter, rootTicks, type Stretch, ticks } from "../../lib/plot";

export interface Line {
  t: Float64Array;
  y: Float64Array;
  /** A colour of tokens.css: "trace", "soft". */
  colour: string;
  width?: number;
  dash?: number[];
  /** Fills down to the second line of the same length. */
  fillTo?: Float64Array;
  /** Does not take part when the height is fitted. */
  aside?: boolean;
}

/** What annotations draw with: pixels of the screen, and where a value stands. */
export interface Pen {
  ctx: CanvasRenderingContext2D;
  x: (value: number) => number;
  y: (value: number) => number;
  box: { left: number; top: number; right: number; bottom: number };
  colour: (name: string) => string;
  view: Stretch;
}

export interface Axis {
  at: number;
  label: string;
}

export interface Drawing {
  lines: Line[];
  /** Under the lines and over them. */
  under?: (pen: Pen) => void;
  over?: (pen: Pen) => void;
  xTicks: (view: Stretch, count: number) => Axis[];
  yText: (value: number, decimals: number) => string;
  /** Heights by their square root, so that small peaks are seen beside a large one. */
  root?: boolean;
  /** Where heights are reckoned from when small things are made taller: a baseline. None: the lowest point. */
  ground?: number | undefined;
}

const font = '14px "Atkinson Hyperlegible", system-ui, sans-serif';

/** Grid, ticks and their numbers. */
export function paintAxes(pen: Pen, drawing: Drawing, [low, high]: [number, number], width: number): void {
  const { ctx, box, x, y } = pen;
  ctx.font = font;
  ctx.lineWidth = 1;
  ctx.fillStyle = pen.colour("soft");
  const many = Math.max(2, (box.bottom - box.top) / 48);
  const rows = drawing.root
    ? rootTicks(low, high, many)
    : ((list) => list.at.map((at) => ({ at, decimals: list.decimals })))(ticks(low, high, many));
  ctx.textAlign = "right";
  ctx.textBaseline = "middle";
  ctx.strokeStyle = pen.colour("hair");
  for (const { at, decimals } of rows) {
    const py = Math.round(y(at)) + 0.5;
    ctx.beginPath();
    ctx.moveTo(box.left, py);
    ctx.lineTo(box.right, py);
    ctx.stroke();
    if (py > 8 && py < box.bottom + 6) ctx.fillText(drawing.yText(at, decimals), box.left - 8, py);
  }
  ctx.textAlign = "center";
  ctx.textBaseline = "top";
  const list = drawing.xTicks(pen.view, Math.max(2, (box.right - box.left) / 110));
  for (const { at, label } of list) {
    const px = Math.round(x(at)) + 0.5;
    ctx.beginPath();
    ctx.moveTo(px, box.top);
    ctx.lineTo(px, box.bottom + 5);
    ctx.stroke();
    const half = ctx.measureText(label).width / 2;
    ctx.fillText(label, Math.min(Math.max(px, half + 2), width - half - 2), box.bottom + 10);
  }
  ctx.strokeStyle = pen.colour("line");
  ctx.beginPath();
  ctx.moveTo(box.left, box.bottom + 0.5);
  ctx.lineTo(box.right, box.bottom + 0.5);
  ctx.stroke();
}

// On the way from point i to the next.
function between(t: Float64Array, y: Float64Array, i: number, at: number): number {
  const a = t[i] ?? 0;
  const b = t[i + 1] ?? a;
  const low = y[i] ?? 0;
  return b > a ? low + (((y[i + 1] ?? low) - low) * (at - a)) / (b - a) : low;
}

// More points than pixels: each column of pixels is filled from its lowest to its highest point and to
// where the column before ended. A zigzag of thousands of strokes would take ten times as long.
function paintColumns({ ctx, x, y, colour }: Pen, line: Line, first: number, last: number): void {
  const ax = x(0);
  const bx = x(1) - ax;
  ctx.fillStyle = colour(line.colour);
  let column = Math.floor(ax + bx * (line.t[first] ?? 0));
  let top = y(line.y[first] ?? 0);
  let foot = top;
  let end = top;
  const fill = () => ctx.fillRect(column, top, 1.3, Math.max(1.3, foot - top));
  for (let i = first; i <= last; i += 1) {
    const px = Math.floor(ax + bx * (line.t[i] ?? 0));
    const py = y(line.y[i] ?? 0);
    if (px !== column) {
      fill();
      column = px;
      top = Math.min(end, py);
      foot = Math.max(end, py);
    } else {
      top = Math.min(top, py);
      foot = Math.max(foot, py);
    }
    end = py;
  }
  fill();
}

/** The points within the view and one more on either side. */
export function paintLine(pen: Pen, line: Line, root: boolean): void {
  const { ctx, x, y } = pen;
  const first = Math.max(0, firstAtOrAfter(line.t, pen.view.from) - 1);
  const last = Math.min(line.t.length - 1, firstAtOrAfter(line.t, pen.view.to));
  if (last < first) return;
  const ax = x(0);
  const bx = x(1) - ax;
  const ay = root ? 0 : y(0);
  const by = root ? 0 : y(1) - ay;
  // A neighbour far outside would make a line of millions of pixels: it is cut at the edge of the view.
  const spare = 50 / bx;
  const left = pen.view.from - spare;
  const right = pen.view.to + spare;
  const trace = (values: Float64Array, from: number, to: number, step: number) => {
    for (let i = from; i !== to + step; i += step) {
      let t = line.t[i] ?? 0;
      let value = values[i] ?? 0;
      if (t < left && i < last) {
        value = between(line.t, values, i, left);
        t = left;
      } else if (t > right && i > first) {
        value = between(line.t, values, i - 1, right);
        t = right;
      }
      const py = Math.min(1e5, Math.max(-1e5, root ? y(value) : ay + by * value));
      ctx.lineTo(ax + bx * t, py);
    }
  };
  if (line.fillTo) {
    ctx.fillStyle = pen.colour("accent-wash");
    ctx.beginPath();
    trace(line.y, first, last, 1);
    trace(line.fillTo, last, first, -1);
    ctx.fill();
  }
  if (last - first > 1.5 * (pen.box.right - pen.box.left)) {
    paintColumns(pen, line, first, last);
    return;
  }
  ctx.strokeStyle = pen.colour(line.colour);
  ctx.lineWidth = line.width ?? 1.6;
  ctx.lineJoin = "round";
  ctx.setLineDash(line.dash ?? []);
  ctx.beginPath();
  trace(line.y, first, last, 1);
  ctx.stroke();
  ctx.setLineDash([]);
}
