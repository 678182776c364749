import type { ColumnChart, History } from "../../api/types";
import { day, formatted, limitText } from "../../lib/format";
import { historyTexts as texts } from "../../texts/analysers";
import { clockOf } from "./HistoryView";
import type { Series } from "./useSeries";

interface Props {
  chart: ColumnChart;
  history: History;
  unit: string;
}

const verdictOf: Record<string, string> = {
  in_control: "is-meets",
  not_yet: "is-missing",
  outliers: "is-unclear",
  scatter: "is-unclear",
};

export function ChartTable({ chart, history, unit }: Props) {
  const clock = clockOf(history);
  const when = (t: number) =>
    clock ? day(new Date(clock(t)).toISOString()) : formatted({ value: t, unit: "s", decimals: 0 });
  const caption = [
    chart.corrected_for ? texts.corrected[chart.corrected_for] : null,
    chart.decides ? null : texts.aside,
  ].filter(Boolean);
  return (
    <section class="scroll" tabIndex={0} aria-label={`${chart.name} ${caption.join(", ")}`}>
      <table class="charted">
        {caption.length > 0 && <caption>{caption.join(", ")}</caption>}
        <thead>
          <tr>
            {[
              texts.stretch,
              texts.from,
              texts.to,
              texts.n,
              texts.centre,
              texts.limits,
              texts.state,
              texts.since,
            ].map((name) => (
              <th key={name} scope="col">
                {name}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {chart.stretches.map((stretch) => (
            <tr key={stretch.from_s}>
              <th scope="row">{stretch.event ?? texts.first}</th>
              <td>{when(stretch.from_s)}</td>
              <td>{when(stretch.to_s)}</td>
              <td>{stretch.n}</td>
              <td>{stretch.centre === null ? "" : formatted({ value: stretch.centre, unit })}</td>
              <td>{stretch.low === null ? "" : limitText(stretch.low, stretch.high, unit)}</td>
              <td class="words">
                <b class={verdictOf[stretch.state] ?? "is-fails"}>
                  {texts.states[stretch.state] ?? stretch.state}
                </b>{" "}
                <span class="soft">{texts.signals(stretch.signals.length, stretch.signals_in_all)}</span>
              </td>
              <td>
                {stretch.change &&
                  `${when(stretch.change.at_s)} (${when(stretch.change.interval_s[0] ?? 0)} \u2013 ${when(stretch.change.interval_s[1] ?? 0)})`}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

/** Every reading with its time, where there are few enough to be read. */
export function Readings({ history, series, unit }: { history: History; series: Series; unit: string }) {
  const clock = clockOf(history);
  return (
    <details open={series.t.length <= 12}>
      <summary>{texts.readings(series.t.length)}</summary>
      <section class="scroll" tabIndex={0} aria-label={texts.readings(series.t.length)}>
        <table class="readings">
          <tbody>
            {Array.from(series.t, (t, i) => (
              <tr key={t}>
                <th scope="row">
                  {clock
                    ? new Date(clock(t)).toISOString().slice(0, 16).replace("T", " ")
                    : formatted({ value: t, unit: "s", decimals: 0 })}
                </th>
                <td>{formatted({ value: series.y[i] ?? null, unit })}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
    </details>
  );
}
