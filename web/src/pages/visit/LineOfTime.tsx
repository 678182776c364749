// The visit line: time from left to right, stages as posts, every run a mark by shape and colour of its verdict, what
// settles behind them; beyond now what the plan still asks for, the forecast, and the end of the permit.
import { useEffect } from "preact/hooks";
import type { Line, Mark, Standing } from "../../api/types";
import { folded, offsetOf, ticks } from "../../lib/folded";
import { clock, fixed, unitText } from "../../lib/format";
import { instant, linear } from "../../lib/scale";
import { forecast } from "../../lib/visit";
import { VerdictShape } from "../../parts/VerdictMark";
import { visitTexts } from "../../texts/visit";
import { Behind, departs, inRows, narrowest, type Post, range, rowHeight, spoken, top } from "./lineParts";
import "../../parts/line-of-time.css";
import "./line.css";
import { useWidth } from "../../parts/useWidth";

const texts = visitTexts.line;
const left = 62;
const right = 22;
const size = 13;

interface Props {
  visit: Standing;
  line: Line;
  now: number;
  chosen: number | null;
  choose: (entry: number) => void;
  stage: string | null;
  chooseStage: (stage: string) => void;
}

export function LineOfTime({ visit, line, now, chosen, choose, stage, chooseStage }: Props) {
  const { box, width } = useWidth(narrowest);
  // Room for departures and for what settles only where there is something to see.
  const plot = line.marks.length > 0 || line.series.length > 0 ? 104 : 14;
  const rail = top + plot + 26;
  const floor = rail + 20;
  const height = floor + 26;
  const end = width - right;
  const offset = offsetOf(line.from);
  const running = !visit.end;
  const posts: Post[] = line.posts
    .filter((post) => post.at !== null)
    .map((post) => ({ stage: post.stage, at: instant(post.at as string), to_come: false }));
  const ahead: Post[] = running
    ? forecast(visit, now)
        .filter((each) => !posts.some((post) => post.stage === each.stage))
        .map((each) => ({ ...each, to_come: true }))
    : [];
  const finish = running ? now + visit.minutes.needed * 60_000 : instant(line.to);
  const permit = visit.permit_end ? instant(visit.permit_end) : null;
  const times = [
    instant(line.from),
    ...posts.map((post) => post.at),
    ...line.marks.map((mark) => instant(mark.at)),
    ...line.series.flatMap((each) => [each.at_ms[0] as number, each.at_ms[each.at_ms.length - 1] as number]),
    ...ahead.map((post) => post.at),
    finish,
    ...(running ? [now] : []),
    ...(permit !== null ? [permit] : []),
    ...(line.ready ? [instant(line.ready.from), instant(line.ready.to)] : []),
  ].filter(Number.isFinite);
  const { at, pieces } = folded(times, left, end);
  const [least, most] = range(line.marks);
  const y = linear(least, most, top + plot, top + 8);
  const limited = line.marks.find(departs)?.finding;
  const place = (mark: Mark) => ({
    cx: at(instant(mark.at)),
    cy: departs(mark) ? y(mark.finding?.value ?? 0) : rail,
  });
  const all = [...posts, ...ahead].sort((a, b) => a.at - b.at);
  const here = line.marks.find((mark) => mark.entry === chosen);

  const atNow = at(running ? now : instant(line.to));
  useEffect(() => {
    const element = box.current;
    if (!element || element.scrollWidth <= element.clientWidth) return;
    element.scrollLeft = (here ? at(instant(here.at)) : atNow) - element.clientWidth / 2;
  }, [chosen, width]);

  const tapped = (event: MouseEvent) => {
    const bounds = (event.currentTarget as SVGSVGElement).getBoundingClientRect();
    const px = event.clientX - bounds.left;
    const py = event.clientY - bounds.top;
    if (py < top) {
      const post = inRows(all, at, end)
        .filter((each) => Math.abs(each.row * rowHeight + 12 - py) < rowHeight)
        .sort((a, b) => Math.abs(a.x + 20 - px) - Math.abs(b.x + 20 - px))[0];
      if (post && Math.abs(post.x + 20 - px) < 90) chooseStage(post.post.stage);
      return;
    }
    let nearest: Mark | null = null;
    let distance = 60;
    for (const mark of line.marks) {
      const { cx, cy } = place(mark);
      const d = Math.hypot(cx - px, (cy - py) / 3);
      if (d < distance) [nearest, distance] = [mark, d];
    }
    if (nearest) choose(nearest.entry);
  };
  const typed = (event: KeyboardEvent) => {
    const index = line.marks.findIndex((mark) => mark.entry === chosen);
    const to: Record<string, number> = {
      ArrowRight: index + 1,
      ArrowLeft: index < 0 ? line.marks.length - 1 : index - 1,
      Home: 0,
      End: line.marks.length - 1,
    };
    const next = to[event.key];
    if (next === undefined) return;
    event.preventDefault();
    const mark = line.marks[Math.min(line.marks.length - 1, Math.max(0, next))];
    if (mark) choose(mark.entry);
  };

  return (
    <div class="line-of-time time-line" ref={box}>
      <svg
        width={width}
        height={height}
        role="listbox"
        tabindex={0}
        aria-label={texts.label}
        aria-activedescendant={here ? `mark-${here.entry}` : undefined}
        onClick={tapped}
        onKeyDown={typed}
      >
        <g aria-hidden="true">
          {running && (
            <rect class="to-come" x={atNow} y={top} width={Math.max(0, end - atNow)} height={floor - top} />
          )}
          {line.ready && (
            <rect
              class="ready"
              x={at(instant(line.ready.from))}
              y={top}
              width={Math.max(3, at(instant(line.ready.to)) - at(instant(line.ready.from)))}
              height={floor - top}
            />
          )}
          {pieces.map((piece, i) => {
            const next = pieces[i + 1];
            return (
              <g key={piece.from} class="hour">
                {ticks(piece, offset).map((tick) => (
                  <g key={tick.at}>
                    <line x1={at(tick.at)} x2={at(tick.at)} y1={top} y2={floor} />
                    <text x={at(tick.at)} y={height - 8} text-anchor="middle">
                      {tick.label}
                    </text>
                  </g>
                ))}
                {next && (
                  <path
                    class="fold"
                    d={`M${(piece.end + next.start) / 2 - 5} ${top}l10 ${(floor - top) / 4}l-10 ${(floor - top) / 4}l10 ${(floor - top) / 4}l-10 ${(floor - top) / 4}`}
                  />
                )}
              </g>
            );
          })}
          {limited && limited.low !== null && limited.high !== null && (
            <g class="limits">
              <rect
                x={left}
                y={y(limited.high)}
                width={end - left}
                height={y(limited.low) - y(limited.high)}
              />
              <line x1={left} x2={end} y1={y(limited.high)} y2={y(limited.high)} />
              <line x1={left} x2={end} y1={y(limited.low)} y2={y(limited.low)} />
              <text x={left - 7} y={y(limited.high) + 1} text-anchor="end">
                {`+${fixed(limited.high, 1)}${unitText(limited.unit)}`}
              </text>
              <text x={left - 7} y={y(limited.low) + 8} text-anchor="end">
                {`${fixed(limited.low, 1)}${unitText(limited.unit)}`}
              </text>
            </g>
          )}
          {line.series.map(
            (each) => each.values.length > 1 && <Behind key={each.name} series={each} at={at} plot={plot} />,
          )}
          <line class="ground" x1={left} x2={end} y1={floor} y2={floor} />
          {line.marks.length > 0 && (
            <text class="rail" x={left - 7} y={rail + 4} text-anchor="end">
              {texts.lineGas}
            </text>
          )}
          {inRows(all, at, end).map(({ post, row, x }) => (
            <g
              key={post.stage}
              class={`post ${post.to_come ? "post-ahead" : "post-begun"} ${post.stage === stage ? "post-chosen" : ""}`}
            >
              <line x1={x} x2={x} y1={row * rowHeight + 4} y2={floor} />
            </g>
          ))}
          {inRows(all, at, end).map(({ post, row, x }) => (
            <g
              key={post.stage}
              class={`post ${post.to_come ? "post-ahead" : "post-begun"} ${post.stage === stage ? "post-chosen" : ""}`}
            >
              <text x={Math.min(x + 5, end - post.stage.length * 7.4)} y={row * rowHeight + 15}>
                {post.stage}
              </text>
            </g>
          ))}
          {permit !== null && (
            <g class="permit">
              <line x1={at(permit)} x2={at(permit)} y1={top - 2} y2={floor} />
              <text x={at(permit) - 5} y={floor - 6} text-anchor="end">
                {texts.permitEnd}
              </text>
            </g>
          )}
          {line.ready && (
            <text class="ready-says" x={at(instant(line.ready.from)) - 4} y={top + 14} text-anchor="end">
              {texts.ready} {clock(line.ready.at)}
            </text>
          )}
          {running && (
            <g class="at-now">
              <line x1={atNow} x2={atNow} y1={top - 4} y2={floor + 4} />
              <text x={atNow} y={height - 8} text-anchor="middle">
                {texts.now}
              </text>
            </g>
          )}
        </g>
        {line.marks.map((mark) => {
          const { cx, cy } = place(mark);
          const around = (mark.finding?.u ?? 0) * (mark.finding?.k ?? 0);
          const value = mark.finding?.value ?? 0;
          return (
            <g
              key={mark.entry}
              id={`mark-${mark.entry}`}
              role="option"
              aria-selected={mark.entry === chosen}
              aria-label={spoken(mark)}
              class={`run is-${mark.verdict}`}
            >
              {departs(mark) && around > 0 && (
                <line class="whisker" x1={cx} x2={cx} y1={y(value - around)} y2={y(value + around)} />
              )}
              {mark.entry === chosen && <circle class="halo" cx={cx} cy={cy} r={size / 2 + 5} />}
              <g transform={`translate(${cx - size / 2} ${cy - size / 2})`}>
                <VerdictShape verdict={mark.verdict} size={size} />
              </g>
            </g>
          );
        })}
      </svg>
    </div>
  );
}
