// Readings over time with their control charts: exchanges are breaks, every stretch has limits of its own.

import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { historyChart } from "../../api/desk";
import type { ChartStretch, ColumnChart, ColumnCharts, History, Problem } from "../../api/types";
import { fixed, formatted, reading, short, unitText } from "../../lib/format";
import { firstAtOrAfter, type Stretch, ticks, timeTicks, valueAt } from "../../lib/plot";
import { shownValue } from "../../lib/units";
import { Choices } from "../../parts/Choices";
import { Plot } from "../../parts/plot/Plot";
import type { Drawing, Line, Pen } from "../../parts/plot/paint";
import { Wrong } from "../../parts/Wrong";
import { historyTexts as texts } from "../../texts/analysers";
import { ChartTable, Readings } from "./ChartTable";
import { type Series, useSeries } from "./useSeries";

const wordOf = (name: string) => name.replaceAll("_", " ").replace(":", ": ");

/** Seconds of the series as milliseconds of the clock; none when its times are bare seconds. */
export const clockOf = (history: History): ((t: number) => number) | null => {
  if (!history.start) return null;
  const began = Date.parse(history.start);
  return (t) => began + 1000 * t;
};

function posts(pen: Pen, history: History) {
  const { ctx, x, box } = pen;
  ctx.font = '14px "Atkinson Hyperlegible", system-ui, sans-serif';
  ctx.textAlign = "left";
  ctx.textBaseline = "top";
  for (const each of history.breaks) {
    const px = Math.round(x(each.at_s)) + 0.5;
    if (px < box.left - 300 || px > box.right) continue;
    ctx.strokeStyle = pen.colour("ink");
    ctx.lineWidth = 1.5;
    ctx.beginPath();
    ctx.moveTo(px, box.top);
    ctx.lineTo(px, box.bottom);
    ctx.stroke();
    ctx.fillStyle = pen.colour("ink");
    const room = ctx.measureText(each.what).width + 12;
    const left = px + room > box.right ? px - room : px + 6;
    ctx.fillText(each.what, left, box.bottom - 22);
  }
}

/** The readings of one stretch as they are drawn: as read, or in sigma from the stretch's own centre. */
interface Part {
  t: Float64Array;
  y: Float64Array;
  stretch: ChartStretch | null;
}

type Against = "read" | "centre";

const turn = (stretch: ChartStretch | null, against: Against, unit: string) => (value: number) =>
  against === "centre" && stretch?.centre != null && stretch.sigma
    ? (value - stretch.centre) / stretch.sigma
    : shownValue(value, unit, reading.system);

function partsOf(series: Series, chart: ColumnChart | null, against: Against, unit: string): Part[] {
  if (!chart) {
    const y = series.y.map(turn(null, against, unit));
    return against === "read" ? [{ t: series.t, y, stretch: null }] : [];
  }
  return chart.stretches
    .filter((stretch) => against === "read" || (stretch.centre !== null && stretch.sigma))
    .map((stretch) => {
      const first = firstAtOrAfter(series.t, stretch.from_s);
      const end = firstAtOrAfter(series.t, stretch.to_s + 1e-6);
      const y = series.y.slice(first, end);
      return { t: series.t.slice(first, end), y: y.map(turn(stretch, against, unit)), stretch };
    });
}

function marks(pen: Pen, parts: Part[]) {
  const { ctx, x, box } = pen;
  for (const { stretch, t, y } of parts) {
    if (stretch?.change) {
      // When it began, with the interval that holds it.
      const [from, to] = stretch.change.interval_s;
      ctx.fillStyle = pen.colour("unclear");
      ctx.globalAlpha = 0.16;
      ctx.fillRect(x(from ?? 0), box.top, Math.max(2, x(to ?? 0) - x(from ?? 0)), box.bottom - box.top);
      ctx.globalAlpha = 1;
    }
    ctx.fillStyle = pen.colour("fails");
    for (const signal of stretch?.signals ?? []) {
      if (signal.at_s < pen.view.from || signal.at_s > pen.view.to) continue;
      const value = valueAt(t, y, signal.at_s);
      if (value === null) continue;
      const px = x(signal.at_s);
      const py = pen.y(value);
      ctx.beginPath();
      ctx.moveTo(px, py - 7);
      ctx.lineTo(px + 7, py);
      ctx.lineTo(px, py + 7);
      ctx.lineTo(px - 7, py);
      ctx.fill();
    }
  }
}

// Single readings as dots, as long as they can be told apart.
function dots(pen: Pen, parts: Part[]) {
  const { ctx, view } = pen;
  const seen = parts.map(({ t }) => [firstAtOrAfter(t, view.from), firstAtOrAfter(t, view.to)] as const);
  if (seen.reduce((sum, [first, end]) => sum + end - first, 0) > 250) return;
  ctx.fillStyle = pen.colour("trace");
  parts.forEach(({ t, y }, k) => {
    const [first, end] = seen[k] ?? [0, 0];
    for (let i = first; i < Math.min(t.length, end + 1); i += 1) {
      ctx.beginPath();
      ctx.arc(pen.x(t[i] ?? 0), pen.y(y[i] ?? 0), 2.6, 0, 2 * Math.PI);
      ctx.fill();
    }
  });
}

function limitLines(chart: ColumnChart | null, against: Against, unit: string): Line[] {
  const lines: Line[] = [];
  for (const stretch of chart?.stretches ?? []) {
    const t = Float64Array.of(stretch.from_s, stretch.to_s);
    const level = (value: number | null, colour: string, dash: number[]) => {
      if (value === null) return;
      const at = turn(stretch, against, unit)(value);
      lines.push({ t, y: Float64Array.of(at, at), colour, width: 1.4, dash });
    };
    level(stretch.centre, "baseline", []);
    level(stretch.low, "fails", [7, 5]);
    level(stretch.high, "fails", [7, 5]);
  }
  return lines;
}

function Charted({ history, column }: { history: History; column: string }) {
  const { whole, near, rested } = useSeries(history, column);
  const [view, setView] = useState<Stretch>({ from: history.from_s, to: history.to_s });
  const [charts, setCharts] = useState<ColumnCharts | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const readout = useRef<HTMLOutputElement>(null);
  useEffect(() => {
    const away = new AbortController();
    historyChart(history.id, column, away.signal).then((answer) => {
      if (away.signal.aborted) return;
      setCharts(answer.data);
      setProblem(answer.problem);
    });
    return () => away.abort();
  }, [history.id, column]);
  const info = history.columns.find((each) => each.name === column);
  const unit = info?.unit ?? "";
  // A chart of corrected values stands for readings that are not those drawn: only its own is laid over them.
  const plain = charts?.charts.find((chart) => chart.corrected_for === null) ?? null;
  const shown = near && near.of.from <= view.from && near.of.to >= view.to ? near : whole;
  const clock = clockOf(history);
  const limits = useMemo(
    () => ({ from: history.from_s, to: Math.max(history.to_s, history.from_s + 1) }),
    [history.id],
  );
  const judged = plain?.stretches.filter((stretch) => stretch.sigma).length ?? 0;
  const [asked, setAsked] = useState<Against | null>(null);
  // Levels that an exchange moved apart hide what happens within each: then each stands on its own centre.
  const against: Against = judged === 0 ? "read" : (asked ?? (judged > 1 ? "centre" : "read"));
  const drawing = useMemo((): Drawing => {
    const lines = limitLines(plain, against, unit);
    const parts = shown ? partsOf(shown, plain, against, unit) : [];
    for (const part of parts) lines.push({ t: part.t, y: part.y, colour: "trace", width: 1.3 });
    return {
      lines,
      xTicks: (seen, count) => {
        if (clock)
          return timeTicks(clock(seen.from), clock(seen.to), count).map(({ at, label }) => ({
            at: (at - clock(0)) / 1000,
            label,
          }));
        const list = ticks(seen.from, seen.to, count);
        return list.at.map((at) => ({ at, label: fixed(at, list.decimals) }));
      },
      yText: (value, decimals) =>
        against === "centre"
          ? `${fixed(value, decimals)} \u03c3`
          : `${fixed(value, decimals)}${unitText(unit)}`,
      under: (pen) => marks(pen, parts),
      over: (pen) => {
        dots(pen, parts);
        posts(pen, history);
      },
    };
  }, [shown, plain, history, unit, against]);
  const events = useMemo(
    () => ({
      rested: (seen: Stretch) => {
        setView(seen);
        rested(seen);
      },
      pointed: (at: { x: number } | null) => {
        if (!readout.current) return;
        const value = at && shown ? valueAt(shown.t, shown.y, at.x) : null;
        const when = at && clock ? new Date(clock(at.x)).toISOString().slice(0, 16).replace("T", " ") : "";
        readout.current.textContent =
          value === null ? texts.nowhere : `${when}   ${formatted({ value, unit })}`;
      },
    }),
    [shown, history.id, unit],
  );
  return (
    <>
      {judged > 0 && (
        <Choices
          legend={texts.against.legend}
          choices={texts.against.choices}
          chosen={against}
          choose={setAsked}
        />
      )}
      <Plot
        label={texts.plot(wordOf(column), info?.count ?? 0)}
        height={380}
        limits={limits}
        least={Math.max(1, (limits.to - limits.from) * 1e-5)}
        drawing={drawing}
        events={events}
      />
      <output class="readout" ref={readout}>
        {texts.nowhere}
      </output>
      {whole && whole.t.length <= 120 && <Readings history={history} series={whole} unit={unit} />}
      <Wrong problem={problem} />
      {charts ? (
        <>
          {charts.charts.map((chart) => (
            <ChartTable
              key={`${chart.name} ${chart.corrected_for}`}
              chart={chart}
              history={history}
              unit={unit}
            />
          ))}
          <p class="soft small">{texts.alarms(short(charts.false_alarm_days, 4))}</p>
          {charts.warnings.map((warning) => (
            <p key={warning} class="soft small">
              {warning}
            </p>
          ))}
        </>
      ) : (
        !problem && <p class="soft">{texts.wait}</p>
      )}
    </>
  );
}

/** What is looked at first: the bias, else the total, else the first column. */
function firstColumn(history: History): string {
  const names = history.columns.map((column) => column.name);
  return (
    ["cv_bias", "total", "unnormalised_total", "gross_cv_volume"].find((name) => names.includes(name)) ??
    names[0] ??
    ""
  );
}

export function HistoryView({ history }: { history: History }) {
  const [column, setColumn] = useState(() => firstColumn(history));
  if (history.columns.length === 0) return <p class="soft">{texts.empty}</p>;
  return (
    <>
      <label class="history-column">
        <span>{texts.column}</span>
        <select value={column} onChange={(event) => setColumn(event.currentTarget.value)}>
          {history.columns.map((each) => (
            <option key={each.name} value={each.name}>
              {wordOf(each.name)}
            </option>
          ))}
        </select>
      </label>
      <Charted key={history.id + column} history={history} column={column} />
      {history.warnings.map((warning) => (
        <p key={warning} class="soft small">
          {warning}
        </p>
      ))}
    </>
  );
}
