import { useEffect } from "preact/hooks";
import type { RunLine, Stage, Visit } from "../../api/types";
import { basisWord, stepped, verdictWord } from "../../lib/choose";
import { clock, fixed, formatted, unitText } from "../../lib/format";
import { hours, instant, linear } from "../../lib/scale";
import { VerdictShape } from "../../parts/VerdictMark";
import "../../parts/line-of-time.css";
import "./visit-line.css";
import { useWidth } from "../../parts/useWidth";

const top = 52; // room for two rows of stage names
const plot = 132; // height of the plot of departures
const rail = top + plot + 30; // where runs without a certified value stand
const floor = rail + 26;
const height = floor + 28;
const left = 62;
const right = 18;
const narrowest = 900; // below that the line scrolls: marks must stay apart
const mark = 13;

interface Props {
  visit: Pick<Visit, "from" | "to" | "stages" | "runs">;
  chosen: string | null;
  choose: (id: string) => void;
}

const departs = (run: RunLine) => run.gas !== "line" && run.finding.value !== null;

// The range of departures drawn: every run with its interval, and the limits.
function range(runs: RunLine[]): [number, number] {
  const marks = runs.filter(departs).flatMap(({ finding }) => {
    const U = (finding.u ?? 0) * finding.k;
    const value = finding.value ?? 0;
    return [value - U, value + U, finding.low ?? 0, finding.high ?? 0];
  });
  const least = Math.min(0, ...marks);
  const most = Math.max(0, ...marks);
  const room = 0.06 * (most - least || 1);
  return [least - room, most + room];
}

function spoken(run: RunLine): string {
  const value = formatted({ ...run.cv, decimals: 3 });
  return `${basisWord[run.basis]}, ${clock(run.at)}, ${run.title}, calorific value ${value}, ${verdictWord[run.verdict]}`;
}

function Posts({ stages, x, end }: { stages: Stage[]; x: (iso: string) => number; end: number }) {
  return (
    <g>
      {stages.map((stage, i) => {
        const at = x(stage.from);
        const out = stage.shown_by === "nothing";
        return (
          <g key={stage.name} class={`post post-${stage.shown_by}`}>
            {out && <rect class="left-out" x={at} y={top} width={x(stage.to) - at} height={floor - top} />}
            <line x1={at} x2={at} y1={i % 2 ? 30 : 10} y2={floor} />
          </g>
        );
      })}
      {stages.map((stage, i) => (
        <g key={stage.name} class={`post post-${stage.shown_by}`}>
          <text x={x(stage.from) + 5} y={i % 2 ? 40 : 20}>
            {stage.name}
          </text>
        </g>
      ))}
      <line class="ground" x1={left} x2={end} y1={floor} y2={floor} />
    </g>
  );
}

function Exchange({ visit, x }: { visit: Props["visit"]; x: (iso: string) => number }) {
  const out = visit.stages.filter((stage) => stage.shown_by === "nothing");
  const first = out[0];
  const last = out[out.length - 1];
  const before = visit.runs.find((run) => run.basis === "as_found");
  const after = visit.runs.find((run) => run.basis === "as_left");
  if (!first || !last || !before || !after) return null;
  const middle = (x(first.from) + x(last.to)) / 2;
  return (
    <g class="exchange" text-anchor="middle">
      <text class="strong" x={middle} y={rail - 48}>{`${before.module} out`}</text>
      <text class="strong" x={middle} y={rail - 28}>{`${after.module} in`}</text>
      <text x={middle} y={rail + 4}>
        safety steps: not in the demo
      </text>
    </g>
  );
}

export function VisitLine({ visit, chosen, choose }: Props) {
  const { box, width } = useWidth(narrowest);
  const along = linear(instant(visit.from), instant(visit.to), left, width - right);
  const x = (iso: string) => along(instant(iso));
  const [least, most] = range(visit.runs);
  const y = linear(least, most, top + plot, top + 8);
  const certified = visit.runs.find(departs)?.finding;
  const low = certified?.low ?? null;
  const high = certified?.high ?? null;
  const unit = certified?.unit ?? "";
  const place = (run: RunLine) => ({
    cx: x(run.at),
    cy: departs(run) ? y(run.finding.value ?? 0) : rail,
  });
  const at = visit.runs.find((run) => run.id === chosen);

  useEffect(() => {
    const element = box.current;
    if (!element || !at || element.scrollWidth <= element.clientWidth) return;
    element.scrollLeft = x(at.at) - element.clientWidth / 2;
  }, [chosen, width]);

  // The whole line is the target, for gloves: a tap takes the nearest run.
  const tapped = (event: MouseEvent) => {
    const svg = event.currentTarget as SVGSVGElement;
    const box = svg.getBoundingClientRect();
    const px = event.clientX - box.left;
    const py = event.clientY - box.top;
    let nearest: RunLine | null = null;
    let distance = Infinity;
    for (const run of visit.runs) {
      const { cx, cy } = place(run);
      const d = Math.hypot(cx - px, (cy - py) / 3); // sideways counts most: time is the axis
      if (d < distance) [nearest, distance] = [run, d];
    }
    if (nearest && distance < 60) choose(nearest.id);
  };
  const typed = (event: KeyboardEvent) => {
    const next = stepped(visit.runs, chosen, event.key);
    if (next === null) return;
    event.preventDefault();
    choose(next);
  };

  return (
    <div class="line-of-time visit-line" ref={box}>
      <svg
        width={width}
        height={height}
        role="listbox"
        tabindex={0}
        aria-label="Visit line: runs in order of time. Arrow keys choose a run."
        aria-activedescendant={at ? `mark-${at.id}` : undefined}
        onClick={tapped}
        onKeyDown={typed}
      >
        <g aria-hidden="true">
          {hours(visit.from, visit.to).map(({ at: time, label }) => (
            <g key={label} class="hour">
              <line x1={along(time)} x2={along(time)} y1={top} y2={floor} />
              <text x={along(time)} y={height - 8} text-anchor="middle">
                {label}
              </text>
            </g>
          ))}
          <Posts stages={visit.stages} x={x} end={width - right} />
          {low !== null && high !== null && (
            <g class="limits">
              <rect x={left} y={y(high)} width={width - right - left} height={y(low) - y(high)} />
              <line x1={left} x2={width - right} y1={y(high)} y2={y(high)} />
              <line x1={left} x2={width - right} y1={y(low)} y2={y(low)} />
              <text
                x={left - 7}
                y={y(high) + 1}
                text-anchor="end"
              >{`+${fixed(high, 1)}${unitText(unit)}`}</text>
              <text x={left - 7} y={y(low) + 8} text-anchor="end">{`${fixed(low, 1)}${unitText(unit)}`}</text>
            </g>
          )}
          <text class="rail" x={left - 7} y={rail + 4} text-anchor="end">
            line gas
          </text>
          <Exchange visit={visit} x={x} />
          {at && <line class="here" x1={x(at.at)} x2={x(at.at)} y1={top - 4} y2={floor} />}
        </g>
        {visit.runs.map((run) => {
          const { cx, cy } = place(run);
          const U = (run.finding.u ?? 0) * run.finding.k;
          const value = run.finding.value ?? 0;
          return (
            <g
              key={run.id}
              id={`mark-${run.id}`}
              role="option"
              aria-selected={run.id === chosen}
              aria-label={spoken(run)}
              class={`run is-${run.verdict}`}
            >
              {departs(run) && U > 0 && (
                <line class="whisker" x1={cx} x2={cx} y1={y(value - U)} y2={y(value + U)} />
              )}
              {run.id === chosen && <circle class="halo" cx={cx} cy={cy} r={mark / 2 + 5} />}
              <g transform={`translate(${cx - mark / 2} ${cy - mark / 2})`}>
                <VerdictShape verdict={run.verdict} size={mark} />
              </g>
            </g>
          );
        })}
      </svg>
    </div>
  );
}
