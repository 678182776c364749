import type { ShownPeak, TraceShown } from "../../api/types";
import { type Decision, find } from "../../lib/decisions";
import { formatted } from "../../lib/format";
import { plotTexts } from "../../texts/plot";
import { traceTexts as texts } from "../../texts/trace";

interface Props {
  trace: TraceShown;
  detector: number;
  chosen: ShownPeak | null;
  choose: (peak: ShownPeak) => void;
  decisions: Decision[];
}

function marks(peak: ShownPeak): string {
  const lost = peak.cut?.lost_percent;
  const words = [...peak.flags];
  if (typeof lost === "number") words.push(texts.lost(formatted({ value: lost, unit: "%", decimals: 1 })));
  return words.join(", ") || texts.none;
}

export function PeakTable({ trace, detector, chosen, choose, decisions }: Props) {
  const peaks = trace.peaks.filter((peak) => peak.detector === detector);
  if (peaks.length === 0) return <p class="soft">{texts.noPeaks}</p>;
  const seconds = (value: number) => formatted({ value, unit: "s", decimals: 2 });
  return (
    <section class="scroll" tabIndex={0} aria-label={texts.peaks}>
      <table class="peaks">
        <thead>
          <tr>
            {Object.values(texts.columns).map((name) => (
              <th key={name} scope="col">
                {name}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {peaks.map((peak) => {
            const hand = find(decisions, peak.detector, peak.apex_s);
            const it = hand?.peak ?? peak;
            return (
              <tr key={peak.apex_s} class={peak === chosen ? "is-chosen" : ""}>
                <th scope="row">
                  <button
                    type="button"
                    class="quiet"
                    aria-pressed={peak === chosen}
                    onClick={() => choose(peak)}
                  >
                    {peak.component ?? plotTexts.unnamed}
                  </button>
                </th>
                <td>{seconds(it.start_s)}</td>
                <td>{seconds(it.apex_s)}</td>
                <td>{seconds(it.end_s)}</td>
                <td>{formatted({ value: it.area, unit: `${trace.unit} s`, expanded: 2 * it.area_u })}</td>
                <td>{formatted({ value: it.height, unit: trace.unit })}</td>
                <td>{seconds(it.width_half_s)}</td>
                <td>{formatted({ value: it.asymmetry, unit: "", decimals: 2 })}</td>
                <td>
                  {peak.resolution_next === null
                    ? texts.last
                    : formatted({ value: peak.resolution_next, unit: "", decimals: 2 })}
                </td>
                <td class="words">{hand ? <b>{texts.hand.mark}</b> : marks(peak)}</td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </section>
  );
}
