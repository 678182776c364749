import type { TwinRun } from "../../api/types";
import { formatted } from "../../lib/format";
import { twinTexts as texts } from "../../texts/twin";

const percent = (value: number) =>
  formatted({ value: Math.abs(value) < 5e-5 ? 0 : value, unit: "%", decimals: 3 });
const much = (value: number) => value > 0.1;

export function Shares({ run, first }: { run: TwinRun; first: TwinRun | null }) {
  return (
    <section class="sheet" aria-labelledby="shares">
      <h2 id="shares">{texts.shares}</h2>
      <p class="twin-cv">
        {texts.cv}: <b>{formatted({ value: run.calorific_value_error_percent, unit: "%", decimals: 4 })}</b>
        {first && (
          <span class="soft">
            {" "}
            ({formatted({ value: first.calorific_value_error_percent, unit: "%", decimals: 4 })}{" "}
            {texts.asMethod})
          </span>
        )}
      </p>
      <section class="scroll" tabIndex={0} aria-label={texts.shares}>
        <table>
          <thead>
            <tr>
              <th scope="col">{texts.columns.peak}</th>
              <th scope="col">{texts.columns.apex}</th>
              <th scope="col">{texts.columns.lost}</th>
              <th scope="col">{texts.columns.gained}</th>
            </tr>
          </thead>
          <tbody>
            {run.peaks.map((peak) => (
              <tr key={`${peak.detector} ${peak.component}`}>
                <th scope="row">{peak.component}</th>
                <td>{formatted({ value: peak.apex_s, unit: "s", decimals: 2 })}</td>
                <td class={much(peak.lost_percent) ? "wrong" : ""}>
                  {much(peak.lost_percent) && "\u25c6 "}
                  {percent(peak.lost_percent)}
                </td>
                <td class={much(peak.gained_percent) ? "wrong" : ""}>
                  {much(peak.gained_percent) && "\u25c6 "}
                  {percent(peak.gained_percent)}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      <p class="soft small">{texts.limit}</p>
    </section>
  );
}
