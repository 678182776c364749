import type { TwinRun } from "../../api/types";
import { formatted } from "../../lib/format";
import type { Worse } from "../../lib/programme";
import { twinTexts as texts } from "../../texts/twin";

const percent = (value: number) =>
  formatted({ value: Math.abs(value) < 5e-5 ? 0 : value, unit: "%", decimals: 3 });
interface Props {
  run: TwinRun;
  first: TwinRun | null;
  worse: Worse;
}

export function Shares({ run, first, worse }: Props) {
  const gone = (first?.peaks ?? []).filter(
    (peak) => !run.peaks.some((each) => each.component === peak.component),
  );
  return (
    <section class="sheet">
      <h2>{texts.shares}</h2>
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
              <th scope="col">
                <span class="unseen">{texts.worse}</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {run.peaks.map((peak) => (
              <tr key={`${peak.detector} ${peak.component}`}>
                <th scope="row">{peak.component}</th>
                <td>{formatted({ value: peak.apex_s, unit: "s", decimals: 2 })}</td>
                <td>{percent(peak.lost_percent)}</td>
                <td>{percent(peak.gained_percent)}</td>
                <td class="words wrong">{worse.has(peak.component) && `\u25c6 ${texts.worse}`}</td>
              </tr>
            ))}
            {gone.map((peak) => (
              <tr key={`gone ${peak.component}`}>
                <th scope="row">{peak.component}</th>
                <td colSpan={3} class="words">
                  {texts.gone}
                </td>
                <td class="words wrong">{`\u25c6 ${texts.worse}`}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      <p class="soft small">{texts.limit}</p>
    </section>
  );
}
