import { useEffect, useRef } from "preact/hooks";
import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";
import type { Detector, Run } from "../api/types";
import { unitText } from "../lib/format";

/** What of a run is drawn. */
export type Drawn = Pick<Run, "title" | "at" | "unit" | "cycle_s" | "events" | "detectors" | "trace_hash"> & {
  basis: string;
};

interface Props {
  run: Drawn;
  detector: Detector;
  /** Another run's, drawn under it in grey. */
  under: Detector | null;
  /** Draws only this share of the height, from the baseline up, so that small peaks are seen. */
  share: number;
  /** Changes when the colours do. */
  scheme: string;
}

const tall = 230;

function colour(name: string): string {
  return getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();
}

function extremes(values: number[]): [number, number] {
  let low = Infinity;
  let high = -Infinity;
  for (const value of values) {
    if (value < low) low = value;
    if (value > high) high = value;
  }
  return [low, high];
}

// Names over the peaks, each where it does not cover the one before; valve events on the floor.
function annotations(run: Drawn, detector: Detector): uPlot.Plugin {
  const draw = (u: uPlot) => {
    const { ctx, bbox } = u;
    const dpr = devicePixelRatio;
    ctx.save();
    ctx.font = `${13 * dpr}px "Atkinson Hyperlegible", system-ui, sans-serif`;
    ctx.strokeStyle = colour("valve");
    ctx.fillStyle = colour("valve");
    ctx.lineWidth = dpr;
    for (const event of run.events) {
      const x = Math.round(u.valToPos(event.at_s, "x", true));
      const foot = bbox.top + bbox.height;
      ctx.setLineDash([2 * dpr, 4 * dpr]);
      ctx.beginPath();
      ctx.moveTo(x, bbox.top);
      ctx.lineTo(x, foot);
      ctx.stroke();
      ctx.beginPath();
      ctx.moveTo(x - 5 * dpr, foot - 9 * dpr);
      ctx.lineTo(x + 5 * dpr, foot - 9 * dpr);
      ctx.lineTo(x, foot);
      ctx.fill();
    }
    ctx.fillStyle = colour("ink");
    ctx.textAlign = "center";
    const taken: { from: number; to: number; y: number }[] = [];
    const line = 15 * dpr;
    for (const peak of detector.peaks) {
      const name = peak.component ?? "not named";
      const x = u.valToPos(peak.apex_s, "x", true);
      const nearest = detector.time_s.findIndex((time) => time >= peak.apex_s);
      const base = detector.baseline[nearest] ?? 0;
      const half = ctx.measureText(name).width / 2 + 3 * dpr;
      const highest = bbox.top + 13 * dpr;
      let y = Math.max(u.valToPos(base + peak.height, "y", true) - 9 * dpr, highest);
      // Upwards until it covers no other name; at the very top it stays.
      const covers = () =>
        taken.some((t) => x - half < t.to && x + half > t.from && Math.abs(t.y - y) < line);
      while (covers() && y - line > highest) y -= line;
      ctx.fillText(name, x, y);
      taken.push({ from: x - half, to: x + half, y });
    }
    ctx.restore();
  };
  return { hooks: { draw: [draw] } };
}

function options(run: Drawn, detector: Detector, share: number, width: number): uPlot.Options {
  const axis = {
    stroke: colour("soft"),
    font: '13px "Atkinson Hyperlegible", system-ui, sans-serif',
    grid: { stroke: colour("hair"), width: 1 },
    ticks: { stroke: colour("line"), width: 1, size: 5 },
  };
  const [low, high] = extremes(detector.signal);
  const [, base] = extremes(detector.baseline);
  const floor = low - 0.06 * share * (high - low);
  return {
    width,
    height: tall,
    legend: { show: false },
    cursor: { drag: { x: true, y: false }, points: { show: false } },
    scales: {
      x: { time: false, range: (_u, from, to) => [from, to] },
      y: {
        range: [Math.max(floor, base - 0.4 * share * (high - base) - 1), base + share * 1.24 * (high - base)],
      },
    },
    axes: [
      { ...axis, size: 34, values: (_u, ticks) => ticks.map((t) => `${t}${unitText("s")}`) },
      { ...axis, size: 78, values: (_u, ticks) => ticks.map((v) => `${v}${unitText(run.unit)}`) },
    ],
    series: [
      {},
      { stroke: colour("missing"), width: 1, points: { show: false }, spanGaps: true },
      { stroke: colour("baseline"), width: 1.5, points: { show: false }, spanGaps: true },
      { stroke: colour("trace"), width: 1.6, points: { show: false }, spanGaps: true },
    ],
    bands: [{ series: [3, 2], fill: colour("accent-wash") }],
    plugins: [annotations(run, detector)],
  };
}

// Two runs have points at times of their own: the chart wants one row of times for both.
function columns(detector: Detector, under: Detector | null): uPlot.AlignedData {
  const own: uPlot.AlignedData = [detector.time_s, detector.baseline, detector.signal];
  if (!under) return [detector.time_s, detector.time_s.map(() => null), detector.baseline, detector.signal];
  const [x, grey, base, signal] = uPlot.join([[under.time_s, under.signal], own]);
  return [x ?? [], grey ?? [], base ?? [], signal ?? []] as uPlot.AlignedData;
}

export function TraceChart({ run, detector, under, share, scheme }: Props) {
  const box = useRef<HTMLDivElement>(null);
  useEffect(() => {
    const element = box.current;
    if (!element) return;
    const chart = new uPlot(
      options(run, detector, share, element.clientWidth),
      columns(detector, under),
      element,
    );
    const watch = new ResizeObserver(() => chart.setSize({ width: element.clientWidth, height: tall }));
    watch.observe(element);
    document.fonts?.ready.then(() => chart.redraw());
    return () => {
      watch.disconnect();
      chart.destroy();
    };
  }, [run, detector, under, share, scheme]);
  return (
    <div
      class="chart"
      ref={box}
      role="img"
      aria-label={`Trace of detector ${detector.detector}, ${run.title}: ${detector.peaks.length} peaks over ${run.cycle_s} s. The table below holds the same numbers.`}
    />
  );
}
