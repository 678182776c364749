import { useMemo } from "preact/hooks";
import type { Detector, Run } from "../api/types";
import { extremes, valueAt } from "../lib/plot";
import { plotTexts } from "../texts/plot";
import { heightText, peakNames, secondsTicks, valveEvents } from "./plot/marks";
import { Plot } from "./plot/Plot";
import type { Drawing, Line } from "./plot/paint";

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
}

const row = (values: number[]) => Float64Array.from(values);

function drawn(run: Drawn, detector: Detector, under: Detector | null): Drawing {
  const t = row(detector.time_s);
  const base = row(detector.baseline);
  const lines: Line[] = [];
  if (under)
    lines.push({ t: row(under.time_s), y: row(under.signal), colour: "missing", width: 1, aside: true });
  lines.push({ t, y: base, colour: "baseline", width: 1.5, aside: true });
  lines.push({ t, y: row(detector.signal), colour: "trace", fillTo: base });
  const whole = { from: t[0] ?? 0, to: t[t.length - 1] ?? 0 };
  const names = detector.peaks.map((peak) => ({
    name: peak.component ?? plotTexts.unnamed,
    at_s: peak.apex_s,
    top: (valueAt(t, base, peak.apex_s) ?? 0) + peak.height,
    colour: "ink",
  }));
  return {
    lines,
    ground: extremes(t, base, whole)?.[1],
    xTicks: secondsTicks,
    yText: heightText(run.unit),
    over: (pen) => {
      valveEvents(pen, run.events, true);
      peakNames(pen, names);
    },
  };
}

export function TraceChart({ run, detector, under, share }: Props) {
  const drawing = useMemo(() => drawn(run, detector, under), [run, detector, under]);
  const limits = useMemo(
    () => ({ from: detector.time_s[0] ?? 0, to: detector.time_s.at(-1) ?? run.cycle_s }),
    [detector],
  );
  return (
    <Plot
      label={`Trace of detector ${detector.detector}, ${run.title}: ${detector.peaks.length} peaks over ${run.cycle_s} s. The table below holds the same numbers.`}
      height={250}
      limits={limits}
      least={run.cycle_s / 100}
      drawing={drawing}
      share={share}
    />
  );
}
