// A calibration's factors one by one: departures in percent with whiskers, limits as a band; what is outside is told by
// shape and word as well as by colour. The table says the same.
import type { FactorMark, FactorPair, FactorSet } from "../api/types";
import { verdictWord } from "../lib/choose";
import { byDetector, disordered, rangeOf } from "../lib/factors";
import { fixed, formatted, limitText, unitText } from "../lib/format";
import { ticks } from "../lib/plot";
import { linear } from "../lib/scale";
import { factorTexts as texts } from "../texts/pictures";
import { useWidth } from "./useWidth";
import { VerdictMark, VerdictShape } from "./VerdictMark";
import "./factor-picture.css";

const row = 30;
const names = 122;
const numbers = 112;
const size = 14;

interface Props {
  sets: FactorSet[];
  pairs: FactorPair[];
}

const valueText = ({ finding }: FactorMark) =>
  formatted({ ...finding, expanded: (finding.u ?? 0) * finding.k, ...(finding.u ? {} : { decimals: 2 }) });

function Panel({ set, pairs }: { set: FactorSet; pairs: FactorPair[] }) {
  const { box, width } = useWidth(270);
  const groups = byDetector(set.marks);
  const headed = groups.length > 1;
  const rows = set.marks.length + (headed ? groups.length : 0);
  const height = rows * row + 30;
  const { from, to } = rangeOf(set);
  const x = linear(from, to, names, width - numbers);
  const axis = ticks(from, to, Math.max(3, (width - names - numbers) / 64));
  const out = set.marks.filter((mark) => mark.finding.verdict === "fails").map((mark) => mark.component);
  let at = 0;
  return (
    <figure class="factors">
      <figcaption>
        <b>{set.title}</b> <span class="soft small">{texts.says[set.id]}</span>
      </figcaption>
      <div ref={box}>
        <svg
          width={width}
          height={height}
          role="img"
          aria-label={texts.picture(
            set.title,
            set.marks.length,
            out.length > 0 ? texts.outside(out.join(", ")) : texts.allInside,
          )}
        >
          {axis.at.map((tick) => (
            <g key={tick} class={tick === 0 ? "tick zero" : "tick"}>
              <line x1={x(tick)} x2={x(tick)} y1="0" y2={height - 24} />
              <text x={x(tick)} y={height - 8} text-anchor="middle">
                {fixed(tick, axis.decimals)}
                {unitText("%")}
              </text>
            </g>
          ))}
          {groups.map((group) => (
            <g key={group.detector}>
              {headed && (
                <text class="group" x="0" y={row * at++ + 22}>
                  {texts.detector(group.detector)}
                </text>
              )}
              {group.marks.map((mark) => {
                const { finding } = mark;
                const y = row * at++ + row / 2;
                const value = finding.value ?? 0;
                const around = (finding.u ?? 0) * finding.k;
                const wrong = disordered(mark.component, pairs).length > 0;
                const low = finding.low === null ? from : finding.low;
                const high = finding.high === null ? to : finding.high;
                return (
                  <g key={mark.component} class={`factor is-${finding.verdict}`}>
                    {(finding.low !== null || finding.high !== null) && (
                      <g class="allowed">
                        <rect x={x(low)} y={y - row / 2 + 2} width={x(high) - x(low)} height={row - 4} />
                        {finding.low !== null && (
                          <line x1={x(low)} x2={x(low)} y1={y - row / 2 + 2} y2={y + row / 2 - 2} />
                        )}
                        {finding.high !== null && (
                          <line x1={x(high)} x2={x(high)} y1={y - row / 2 + 2} y2={y + row / 2 - 2} />
                        )}
                      </g>
                    )}
                    <text class="name" x="0" y={y + 5}>
                      {mark.component}
                      {wrong && <tspan class="disorder"> {texts.disorderMark}</tspan>}
                    </text>
                    <line class="stem" x1={x(0)} x2={x(value)} y1={y} y2={y} />
                    {around > 0 && (
                      <path
                        class="whisker"
                        d={`M${x(value - around)} ${y}H${x(value + around)}M${x(value - around)} ${y - 5}v10M${x(value + around)} ${y - 5}v10`}
                      />
                    )}
                    {wrong && <circle class="ring" cx={x(value)} cy={y} r={size / 2 + 4} />}
                    <svg x={x(value) - size / 2} y={y - size / 2} width={size} height={size}>
                      <VerdictShape verdict={finding.verdict} size={size} />
                    </svg>
                    <text class="number" x={width} y={y + 5} text-anchor="end">
                      {valueText(mark)}
                    </text>
                  </g>
                );
              })}
            </g>
          ))}
        </svg>
      </div>
    </figure>
  );
}

function Table({ set, pairs }: { set: FactorSet; pairs: FactorPair[] }) {
  return (
    <section class="scroll" tabIndex={0} aria-label={set.title}>
      <table>
        <caption class="soft">{set.title}</caption>
        <thead>
          <tr>
            <th scope="col">{texts.columns.component}</th>
            <th scope="col">{texts.columns.value}</th>
            <th scope="col">{texts.columns.limits}</th>
            <th scope="col">{texts.columns.verdict}</th>
            <th scope="col">{texts.columns.order}</th>
          </tr>
        </thead>
        <tbody>
          {set.marks.map((mark) => {
            const others = disordered(mark.component, pairs);
            return (
              <tr key={`${mark.detector} ${mark.component}`}>
                <th scope="row">{mark.component}</th>
                <td>{valueText(mark)}</td>
                <td>{limitText(mark.finding.low, mark.finding.high, "%")}</td>
                <td>
                  <VerdictMark verdict={mark.finding.verdict} />
                </td>
                <td class={others.length > 0 ? "wrong" : "soft"}>
                  {others.length > 0 ? texts.disorder(others.join(", ")) : texts.inOrder}
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </section>
  );
}

export default function FactorPicture({ sets, pairs }: Props) {
  const seen = [...new Set(sets.flatMap((set) => set.marks.map((mark) => mark.finding.verdict)))];
  return (
    <>
      <div class="factor-sets">
        {sets.map((set) => (
          <Panel key={set.id} set={set} pairs={pairs} />
        ))}
      </div>
      {pairs.map(({ lower, higher }) => (
        <p key={`${lower} ${higher}`} class="wrong">
          {texts.disorderMark} {texts.wrongOrder(lower, higher)}
        </p>
      ))}
      <p class="picture-key soft small">
        <span class="key-allowed">{texts.key.limits}</span>
        {sets.some((set) => set.marks.some(({ finding }) => finding.u)) && (
          <span class="key-whisker">{texts.key.whisker}</span>
        )}
        {seen.map((verdict) => (
          <span key={verdict} class={`verdict is-${verdict}`}>
            <svg class="mark" width="14" height="14" viewBox="0 0 16 16" aria-hidden="true">
              <VerdictShape verdict={verdict} />
            </svg>
            {verdictWord[verdict]}
          </span>
        ))}
        {pairs.length > 0 && (
          <span>
            {texts.disorderMark} {texts.key.disorder}
          </span>
        )}
      </p>
      <details>
        <summary>{texts.table}</summary>
        {sets.map((set) => (
          <Table key={set.id} set={set} pairs={pairs} />
        ))}
      </details>
    </>
  );
}
