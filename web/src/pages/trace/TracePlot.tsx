import { useMemo, useRef, useState } from "preact/hooks";
import type { ShownPeak, TraceShown } from "../../api/types";
import { formatted } from "../../lib/format";
import { type Stretch, valueAt } from "../../lib/plot";
import { heightText, peakNames, secondsTicks, valveEvents } from "../../parts/plot/marks";
import { type Handle, Plot } from "../../parts/plot/Plot";
import type { Drawing, Line, Pen } from "../../parts/plot/paint";
import { plotTexts } from "../../texts/plot";
import { traceTexts as texts } from "../../texts/trace";
import { type Signal, useSignal } from "./useSignal";

/** Ends and baseline of the peak that is being set. */
export interface Ends {
  start_s: number;
  end_s: number;
  base_start: number;
  base_end: number;
}
export type End = keyof Ends;

interface Props {
  trace: TraceShown;
  overlay: TraceShown | null;
  detector: number;
  chosen: ShownPeak | null;
  choose: (peak: ShownPeak | null) => void;
  ends: Ends | null;
  moveEnd: (end: End, value: number, done: boolean) => void;
  show: Stretch | null;
}

const peakName = (peak: ShownPeak) => peak.component ?? plotTexts.unnamed;

function chosenStretch(pen: Pen, from: number, to: number) {
  const { ctx, x, box } = pen;
  ctx.fillStyle = pen.colour("accent-wash");
  ctx.fillRect(x(from), box.top, x(to) - x(from), box.bottom - box.top);
}

export function TracePlot({ trace, overlay, detector, chosen, choose, ends, moveEnd, show }: Props) {
  const own = useSignal(trace, detector);
  const other = useSignal(overlay, Math.min(detector, overlay?.detectors.length ?? detector));
  const readout = useRef<HTMLOutputElement>(null);
  const [rooted, setRooted] = useState(true);
  // A straight baseline is straight on even heights only.
  const root = rooted && !ends;
  const [view, setView] = useState<Stretch>({ from: trace.start_s, to: trace.end_s });
  const here = trace.peaks.filter((peak) => peak.detector === detector);
  const limits = useMemo(() => ({ from: trace.start_s, to: trace.end_s }), [trace.id]);

  // What is finely known, where the view lies inside of it; else the whole.
  const fitting = (signal: { whole: Signal | null; near: Signal | null }): Signal | null =>
    signal.near && signal.near.of.from <= view.from && signal.near.of.to >= view.to
      ? signal.near
      : signal.whole;
  const mine = fitting(own);
  const theirs = overlay ? fitting(other) : null;

  const drawing = useMemo((): Drawing => {
    const lines: Line[] = [];
    if (theirs)
      lines.push({ t: theirs.t, y: theirs.y, colour: "valve", width: 1.2, dash: [5, 3], aside: true });
    if (mine) {
      lines.push({ t: mine.t, y: mine.base, colour: "baseline", width: 1.5, aside: true });
      lines.push({ t: mine.t, y: mine.y, colour: "trace", fillTo: mine.base });
    }
    const level = (at: number) => (mine && valueAt(mine.t, mine.base, at)) ?? 0;
    return {
      lines,
      root,
      xTicks: secondsTicks,
      yText: heightText(trace.unit),
      under: (pen) => {
        if (ends) chosenStretch(pen, ends.start_s, ends.end_s);
        else if (chosen) chosenStretch(pen, chosen.start_s, chosen.end_s);
      },
      over: (pen) => {
        valveEvents(pen, trace.events, true);
        peakNames(
          pen,
          here.map((peak) => ({
            name: peakName(peak),
            at_s: peak.apex_s,
            top: level(peak.apex_s) + peak.height,
            colour: peak === chosen ? "accent" : "ink",
          })),
        );
        if (!ends) return;
        const { ctx, x, y } = pen;
        ctx.strokeStyle = pen.colour("fails");
        ctx.lineWidth = 2;
        ctx.beginPath();
        ctx.moveTo(x(ends.start_s), y(ends.base_start));
        ctx.lineTo(x(ends.end_s), y(ends.base_end));
        ctx.stroke();
      },
    };
  }, [mine, theirs, trace, chosen, ends, root]);

  const handles = useMemo((): Handle[] => {
    if (!ends) return [];
    const reach = { low: trace.start_s, high: trace.end_s };
    const found = trace.detectors[detector - 1];
    const height = found ? found.highest - found.lowest : 1;
    const level = {
      low: (found?.lowest ?? 0) - height,
      high: found?.highest ?? 1,
      step: Math.max((found?.noise_rms ?? 0) / 2, 1e-6 * height),
      upright: true,
      colour: "fails",
    };
    const seconds = (at: number) => formatted({ value: at, unit: "s", decimals: 2 });
    const volts = (at: number) => formatted({ value: at, unit: trace.unit });
    return [
      {
        id: "start_s",
        label: texts.hand.handles.start,
        says: seconds(ends.start_s),
        x: ends.start_s,
        ...reach,
        high: ends.end_s - 4 * trace.interval_s,
        step: trace.interval_s,
      },
      {
        id: "end_s",
        label: texts.hand.handles.end,
        says: seconds(ends.end_s),
        x: ends.end_s,
        ...reach,
        low: ends.start_s + 4 * trace.interval_s,
        step: trace.interval_s,
      },
      {
        id: "base_start",
        label: texts.hand.handles.baseStart,
        says: volts(ends.base_start),
        x: ends.start_s,
        y: ends.base_start,
        ...level,
      },
      {
        id: "base_end",
        label: texts.hand.handles.baseEnd,
        says: volts(ends.base_end),
        x: ends.end_s,
        y: ends.base_end,
        ...level,
      },
    ];
  }, [ends, trace, detector]);

  const events = useMemo(
    () => ({
      rested: (seen: Stretch) => {
        setView(seen);
        own.rested(seen);
        other.rested(seen);
      },
      pointed: (at: { x: number; y: number } | null) => {
        const out = readout.current;
        if (!out) return;
        const value = at && mine ? valueAt(mine.t, mine.y, at.x) : null;
        const base = at && mine ? valueAt(mine.t, mine.base, at.x) : null;
        if (!at || value === null || base === null) {
          out.textContent = texts.nowhere;
          return;
        }
        const second = theirs ? valueAt(theirs.t, theirs.y, at.x) : null;
        const parts = [
          `${texts.at} ${formatted({ value: at.x, unit: "s", decimals: 2 })}`,
          formatted({ value, unit: trace.unit }),
          `${formatted({ value: value - base, unit: trace.unit })} ${texts.above}`,
        ];
        if (second !== null && overlay)
          parts.push(`${overlay.name}: ${formatted({ value: second, unit: overlay.unit })}`);
        out.textContent = parts.join("   ");
      },
      tapped: (at: { x: number; y: number }) =>
        choose(here.find((peak) => peak.start_s <= at.x && peak.end_s >= at.x) ?? null),
    }),
    [mine, theirs, trace, detector],
  );

  return (
    <>
      <Plot
        label={texts.plot(trace.name, here.length)}
        height={430}
        limits={limits}
        least={20 * trace.interval_s}
        drawing={drawing}
        events={events}
        handles={handles}
        onHandle={(id, value, done) => moveEnd(id as End, value, done)}
        show={show}
        turnRoot={ends ? undefined : () => setRooted(!rooted)}
      />
      <output class="readout" ref={readout}>
        {texts.nowhere}
      </output>
    </>
  );
}
