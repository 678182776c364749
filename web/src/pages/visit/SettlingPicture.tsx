// What settles: readings, the fitted curve with its band and where it leads, the limit around its end, when it is
// expected to be at rest, now. One panel a quantity; the table says the same.
import { useId, useState } from "preact/hooks";
import { getSettling } from "../../api/desk";
import type { SettlingQuantity, SettlingSource } from "../../api/types";
import { fixed, formatted, formattedChange, reading, unitText } from "../../lib/format";
import { ticks } from "../../lib/plot";
import { saidOf } from "../../lib/problem";
import { linear } from "../../lib/scale";
import { heightOf, slowest, spanOf, timeAt, timeSteps } from "../../lib/settling";
import { shownValue } from "../../lib/units";
import { Choices } from "../../parts/Choices";
import { useFetched } from "../../parts/useFetched";
import { useWidth } from "../../parts/useWidth";
import { settlingTexts as texts } from "../../texts/pictures";
import type { PictureProps } from "./pictures";
import "./settling.css";

const left = 92;
const right = 14;
const tall = 168;
const foot = 24;

export function nameOf(name: string): string {
  if (name === "oven_c") return texts.oven;
  if (name === "total") return texts.total;
  const [kind, of] = name.split(":");
  if (kind === "retention" && of) return texts.retention(of);
  if (kind === "factor" && of) return texts.factor(of);
  return name.replaceAll("_", " ");
}

interface PanelProps {
  source: SettlingSource;
  quantity: SettlingQuantity;
  now: number | null;
  /** Heights around where it ends only: there the limit is wide. */
  near: boolean;
}

function Panel({ source, quantity, now, near }: PanelProps) {
  const { box, width } = useWidth(240);
  const clip = useId();
  const span = spanOf(source, now);
  const x = linear(span.from, span.to, left, width - right);
  const height = heightOf(quantity, span.to, near);
  const y = linear(height.from, height.to, tall, 10);
  const system = reading.system;
  const seen = (value: number) => shownValue(value, quantity.unit, system);
  const back = linear(seen(height.from), seen(height.to), tall, 10);
  const levels = ticks(seen(height.from), seen(height.to), 4);
  const curve = quantity.curve.filter((point) => point.t_s <= span.to);
  // Numbers far outside of the picture are cut off in it; drawn as they are they would be lines of a million pixels.
  const reach = height.to - height.from;
  const reachable = (value: number) => Math.min(height.to + reach, Math.max(height.from - reach, value));
  const line = curve
    .map((p, i) => `${i ? "L" : "M"}${x(p.t_s).toFixed(1)} ${y(reachable(p.y)).toFixed(1)}`)
    .join("");
  const inside = (value: number) => Math.min(height.to, Math.max(height.from, value));
  const band =
    curve.length > 1
      ? `M${curve.map((p) => `${x(p.t_s).toFixed(1)} ${y(inside(p.high)).toFixed(1)}`).join("L")}L${[...curve]
          .reverse()
          .map((p) => `${x(p.t_s).toFixed(1)} ${y(inside(p.low)).toFixed(1)}`)
          .join("L")}Z`
      : null;
  const dots = (used: boolean) =>
    quantity.at_s
      .map((t, i) =>
        quantity.used[i] === used
          ? `M${x(t).toFixed(1)} ${y(reachable(quantity.values[i] ?? 0)).toFixed(1)}h.01`
          : "",
      )
      .join("");
  const { end_value: end, limit } = quantity;
  const ready = source.ready;
  const says =
    quantity.limit === null
      ? texts.settled.unjudged
      : quantity.settled
        ? texts.atRest
        : quantity.remaining_change === null
          ? texts.notYet
          : texts.remaining(formattedChange({ value: quantity.remaining_change, unit: quantity.unit }));
  return (
    <figure class="settling-panel">
      <figcaption>
        <b>{nameOf(quantity.name)}</b>
        <span class={quantity.settled === false ? "is-unclear" : "soft"}>
          {quantity.motion}
          {quantity.settled === false && `; ${says}`}
        </span>
      </figcaption>
      <div ref={box}>
        <svg
          width={width}
          height={tall + foot}
          role="img"
          aria-label={texts.picture(nameOf(quantity.name), quantity.values.length, says)}
        >
          {levels.at.map((level) => (
            <g key={level} class="level">
              <line x1={left} x2={width - right} y1={back(level)} y2={back(level)} />
              <text x={left - 8} y={back(level) + 5} text-anchor="end">
                {fixed(level, levels.decimals)}
                {unitText(quantity.unit)}
              </text>
            </g>
          ))}
          {timeSteps(source.start, span.from, span.to, (width - left) / 90).map((t) => (
            <g key={t} class="level">
              <line x1={x(t)} x2={x(t)} y1="10" y2={tall} />
              <text x={x(t)} y={tall + foot - 6} text-anchor="middle">
                {timeAt(source.start, t)}
              </text>
            </g>
          ))}
          {end !== null && limit !== null && (
            <g class="around-end">
              <rect
                x={left}
                y={y(inside(end + limit))}
                width={width - right - left}
                height={Math.max(1.5, y(inside(end - limit)) - y(inside(end + limit)))}
              />
              {[end + limit, end - limit].map((at) => (
                <line key={at} x1={left} x2={width - right} y1={y(inside(at))} y2={y(inside(at))} />
              ))}
            </g>
          )}
          {ready && ready.from_s <= span.to && (
            <g class="ready-at">
              {!source.settled && (
                <rect
                  x={x(Math.max(span.from, ready.from_s))}
                  y="10"
                  width={Math.max(2, x(Math.min(span.to, ready.to_s)) - x(Math.max(span.from, ready.from_s)))}
                  height={tall - 10}
                />
              )}
              {ready.at_s <= span.to && (
                <line
                  x1={x(Math.max(span.from, ready.at_s))}
                  x2={x(Math.max(span.from, ready.at_s))}
                  y1="10"
                  y2={tall}
                />
              )}
            </g>
          )}
          <clipPath id={clip}>
            <rect x={left - 3} y="7" width={width - right - left + 6} height={tall - 4} />
          </clipPath>
          <g clip-path={`url(#${clip})`}>
            {band && <path class="band" d={band} />}
            {line && <path class="curve" d={line} />}
            <path class="readings" d={dots(true)} />
            <path class="readings set-aside" d={dots(false)} />
          </g>
          {now !== null && now >= span.from && now <= span.to && (
            <g class="now-line">
              <line x1={x(now)} x2={x(now)} y1="4" y2={tall} />
              <text
                x={x(now)}
                y="14"
                dx={x(now) > width - 60 ? -4 : 4}
                text-anchor={x(now) > width - 60 ? "end" : "start"}
              >
                {texts.now}
              </text>
            </g>
          )}
        </svg>
      </div>
    </figure>
  );
}

function Table({ source }: { source: SettlingSource }) {
  const number = (value: number | null, unit: string) => (value === null ? "" : formatted({ value, unit }));
  return (
    <section class="scroll" tabIndex={0} aria-label={texts.table}>
      <table>
        <thead>
          <tr>
            {Object.values(texts.columns).map((title) => (
              <th key={title} scope="col">
                {title}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {source.quantities.map((each) => (
            <tr key={each.name}>
              <th scope="row">{nameOf(each.name)}</th>
              <td class="words">{each.motion}</td>
              <td>{number(each.time_constant_s, "s")}</td>
              <td>
                {each.remaining_change === null
                  ? ""
                  : formattedChange({ value: each.remaining_change, unit: each.unit })}
              </td>
              <td>{each.limit === null ? "" : formattedChange({ value: each.limit, unit: each.unit })}</td>
              <td>{number(each.end_value, each.unit)}</td>
              <td>{each.ready_at_s === null ? "" : timeAt(source.start, each.ready_at_s)}</td>
              <td class={each.settled === false ? "is-unclear" : ""}>
                {each.settled === null
                  ? texts.settled.unjudged
                  : each.settled
                    ? texts.settled.yes
                    : texts.settled.no}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

function Verdict({ source }: { source: SettlingSource }) {
  const { ready, start } = source;
  const at = (t: number) => timeAt(start, t);
  return (
    <p class={source.settled ? "is-meets settling-says" : "is-unclear settling-says"}>
      <b>
        {source.settled
          ? ready
            ? texts.restSince(at(ready.at_s))
            : texts.atRest
          : ready
            ? texts.expected(at(ready.at_s), at(ready.from_s), at(ready.to_s))
            : `${texts.notYet} ${texts.none}`}
      </b>
    </p>
  );
}

function Source({ source, now }: { source: SettlingSource; now: number | null }) {
  const [which, setWhich] = useState<"few" | "all">("few");
  const [near, setNear] = useState<"whole" | "near">("whole");
  const few = slowest(source);
  const here = now === null || source.start === null ? null : (now - Date.parse(source.start)) / 1000;
  const shown = which === "few" ? few : source.quantities.filter((each) => each.values.length > 1);
  return (
    <>
      <p class="soft small">{source.decides ? texts.decides : texts.aside}</p>
      <Verdict source={source} />
      {source.looks_like.map((cause) => (
        <p key={cause} class="wrong">
          {texts.looks[cause] ?? cause}
        </p>
      ))}
      <div class="settling-choices">
        {source.quantities.length > few.length && (
          <Choices
            legend={texts.quantities.legend}
            choices={[
              ["few", texts.quantities.few],
              ["all", texts.quantities.all],
            ]}
            chosen={which}
            choose={setWhich}
          />
        )}
        {shown.some((each) => each.end_value !== null && each.limit !== null) && (
          <Choices
            legend={texts.heights.legend}
            choices={[
              ["whole", texts.heights.whole],
              ["near", texts.heights.near],
            ]}
            chosen={near}
            choose={setNear}
          />
        )}
      </div>
      <div class="settling-panels">
        {shown.map((quantity) => (
          <Panel key={quantity.name} source={source} quantity={quantity} now={here} near={near === "near"} />
        ))}
      </div>
      <p class="settling-key soft small">
        <span class="key-readings">{texts.key.readings}</span>
        {shown.some((each) => each.used.includes(false)) && <span class="key-aside">{texts.key.aside}</span>}
        <span class="key-curve">{texts.key.curve}</span>
        <span class="key-band">{texts.key.band}</span>
        <span class="key-around">{texts.key.limit}</span>
        {source.ready && !source.settled && <span class="key-ready">{texts.key.ready}</span>}
      </p>
      {source.warnings.map((warning) => (
        <p key={warning} class="soft small">
          {warning}
        </p>
      ))}
      <details>
        <summary>{texts.table}</summary>
        <Table source={source} />
      </details>
    </>
  );
}

export default function SettlingPicture({ visit, last, now }: PictureProps) {
  const { data, problem } = useFetched(`${visit} ${last}`, (signal) => getSettling(visit, signal));
  const [chosen, choose] = useState<string | null>(null);
  const sources = data?.sources ?? [];
  const source = sources.find((each) => each.id === chosen) ?? sources[0];
  return (
    <section class="sheet column tight" aria-labelledby="settling-title" aria-busy={!data}>
      <header>
        <h2 id="settling-title">{texts.title}</h2>
      </header>
      {problem && (
        <p role="alert" class="wrong">
          {texts.trouble} {saidOf(problem)}
        </p>
      )}
      {!data && !problem && <p class="soft loading">{texts.fetching}</p>}
      {data && !source && <p class="soft">{texts.nothing}</p>}
      {sources.length > 1 && (
        <label class="settling-of">
          <span>{texts.source}</span>
          <select value={source?.id} onChange={(event) => choose(event.currentTarget.value)}>
            {sources.map((each) => (
              <option key={each.id} value={each.id}>
                {each.title}
              </option>
            ))}
          </select>
        </label>
      )}
      {source && <Source key={source.id} source={source} now={now} />}
    </section>
  );
}
