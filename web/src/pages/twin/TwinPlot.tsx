import { useMemo, useState } from "preact/hooks";
import type { ProgrammeEvent, ProposedEvent, Twin, TwinRun } from "../../api/types";
import { formatted } from "../../lib/format";
import { valueAt } from "../../lib/plot";
import type { Worse } from "../../lib/programme";
import { heightText, peakNames, secondsTicks, valveEvents } from "../../parts/plot/marks";
import { type Handle, Plot } from "../../parts/plot/Plot";
import type { Drawing, Line, Pen } from "../../parts/plot/paint";
import { twinTexts as texts } from "../../texts/twin";

interface Props {
  twin: Twin;
  run: TwinRun | null;
  first: TwinRun | null;
  detector: number;
  programme: ProgrammeEvent[];
  windows: (ProposedEvent | null)[];
  worse: Worse;
  move: (index: number, at_s: number, done: boolean) => void;
}

function lineOf(run: TwinRun | null, detector: number): { t: Float64Array; y: Float64Array } | null {
  const it = run?.detectors.find((each) => each.detector === detector);
  return it ? { t: Float64Array.from(it.time_s), y: Float64Array.from(it.signal) } : null;
}

// What is cut or overrun is shaded between its valleys and said in words.
function peaks(
  pen: Pen,
  run: TwinRun,
  worse: Worse,
  detector: number,
  line: { t: Float64Array; y: Float64Array },
) {
  const { ctx, x, box } = pen;
  const here = run.peaks.filter((peak) => peak.detector === detector);
  ctx.fillStyle = pen.colour("fails");
  ctx.globalAlpha = 0.13;
  for (const peak of here)
    if (worse.has(peak.component))
      ctx.fillRect(x(peak.from_s), box.top, x(peak.to_s) - x(peak.from_s), box.bottom - box.top);
  ctx.globalAlpha = 1;
  peakNames(
    pen,
    here.map((peak) => {
      const hurt = worse.has(peak.component);
      return {
        name: hurt ? `\u25c6 ${peak.component}` : peak.component,
        at_s: peak.apex_s,
        top: valueAt(line.t, line.y, peak.apex_s) ?? 0,
        colour: hurt ? "fails" : "ink",
      };
    }),
  );
}

// Clean times of each event as bands at the foot, one row an event.
function bands(pen: Pen, programme: ProgrammeEvent[], windows: (ProposedEvent | null)[]) {
  const { ctx, x, box } = pen;
  windows.forEach((window, i) => {
    if (!window || window.earliest_s === null || window.latest_s === null) return;
    const event = programme[i];
    const inside = event && event.at_s >= window.earliest_s && event.at_s <= window.latest_s;
    ctx.fillStyle = pen.colour(inside ? "meets" : "unclear");
    ctx.globalAlpha = 0.22;
    const from = x(window.earliest_s);
    ctx.fillRect(from, box.bottom - 44, Math.max(3, x(window.latest_s) - from), 44);
    ctx.globalAlpha = 1;
    ctx.fillRect(from, box.bottom - 44, 2, 44);
    ctx.fillRect(x(window.latest_s) - 2, box.bottom - 44, 2, 44);
  });
}

export function TwinPlot({ twin, run, first, worse, detector, programme, windows, move }: Props) {
  const limits = useMemo(() => ({ from: 0, to: twin.cycle_s }), [twin.id]);
  const line = useMemo(() => lineOf(run, detector), [run, detector]);
  const ghost = useMemo(() => lineOf(first, detector), [first, detector]);
  const unit = run?.detectors[0]?.unit ?? "";
  const [root, setRoot] = useState(true);
  const drawing = useMemo((): Drawing => {
    const lines: Line[] = [];
    if (ghost) lines.push({ ...ghost, colour: "line", width: 1.4 });
    if (line) lines.push({ ...line, colour: "trace" });
    return {
      lines,
      root,
      xTicks: secondsTicks,
      yText: heightText(unit),
      under: (pen) => bands(pen, programme, windows),
      over: (pen) => {
        valveEvents(pen, programme, false);
        if (run && line) peaks(pen, run, worse, detector, line);
      },
    };
  }, [line, ghost, programme, windows, run, worse, detector, root]);
  const handles = useMemo(
    (): Handle[] =>
      programme.flatMap((event, i) =>
        event.fixed
          ? []
          : [
              {
                id: String(i),
                label: event.action,
                says: formatted({ value: event.at_s, unit: "s", decimals: 1 }),
                x: event.at_s,
                low: 0,
                high: twin.cycle_s,
                step: twin.time_step_s,
                colour: "valve",
              },
            ],
      ),
    [programme, twin],
  );
  return (
    <Plot
      label={texts.plot}
      height={400}
      limits={limits}
      least={4}
      drawing={drawing}
      handles={handles}
      onHandle={(id, value, done) => move(Number(id), value, done)}
      turnRoot={() => setRoot(!root)}
    />
  );
}
