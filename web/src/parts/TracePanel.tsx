import { useEffect, useState } from "preact/hooks";
import type { Answer } from "../api/client";
import type { Problem } from "../api/types";
import { basisWord } from "../lib/choose";
import { clock, formatted } from "../lib/format";
import type { Drawn, TraceChart } from "./TraceChart";
import "./trace.css";

const shares = [
  { share: 1, says: "Whole height" },
  { share: 0.1, says: "Lowest tenth" },
  { share: 0.01, says: "Lowest hundredth" },
];

function PeakTable({ run }: { run: Drawn }) {
  const peaks = run.detectors.flatMap((detector) => detector.peaks);
  return (
    <section class="scroll" tabindex={0} aria-label="Peaks of this run">
      <table>
        <thead>
          <tr>
            <th scope="col">peak</th>
            <th scope="col">detector</th>
            <th scope="col">apex</th>
            <th scope="col">area</th>
            <th scope="col">height</th>
            <th scope="col">half width</th>
            <th scope="col">asymmetry</th>
            <th scope="col">to next, Rs</th>
            <th scope="col">marks</th>
          </tr>
        </thead>
        <tbody>
          {peaks.map((peak) => (
            <tr key={`${peak.detector} ${peak.apex_s}`}>
              <th scope="row">{peak.component ?? "not named"}</th>
              <td>{peak.detector}</td>
              <td>{formatted({ value: peak.apex_s, unit: "s", decimals: 2 })}</td>
              <td>{formatted({ value: peak.area, unit: `${run.unit} s`, expanded: 2 * peak.area_u })}</td>
              <td>{formatted({ value: peak.height, unit: run.unit })}</td>
              <td>{formatted({ value: peak.width_half_s, unit: "s", decimals: 2 })}</td>
              <td>{formatted({ value: peak.asymmetry, unit: "", decimals: 2 })}</td>
              <td>
                {peak.resolution_next === null
                  ? "last"
                  : formatted({ value: peak.resolution_next, unit: "", decimals: 2 })}
              </td>
              <td>{peak.flags.join(", ") || "none"}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

// What draws comes with the first trace: a visit is read before one is chosen.
function useChart(): typeof TraceChart | null {
  const [chart, setChart] = useState<{ TraceChart: typeof TraceChart } | null>(null);
  useEffect(() => {
    import("./TraceChart").then(setChart);
  }, []);
  return chart?.TraceChart ?? null;
}

function Shown({ run, under, place }: { run: Drawn; under: Drawn | null; place: string | undefined }) {
  const [share, setShare] = useState(1);
  const Chart = useChart();
  return (
    <>
      <header>
        <h2>Trace</h2>
        <span class="soft" id="trace-of">
          {[run.title, basisWord[run.basis as keyof typeof basisWord], clock(run.at)]
            .filter(Boolean)
            .join(", ")}
        </span>
        {place && (
          <a class="button" href={place}>
            Open it in Traces
          </a>
        )}
        <fieldset class="buttons shares">
          <legend class="unseen">Height shown</legend>
          {shares.map((each) => (
            <button
              key={each.share}
              type="button"
              aria-pressed={share === each.share}
              onClick={() => setShare(each.share)}
            >
              {each.says}
            </button>
          ))}
        </fieldset>
      </header>
      {run.detectors.map((detector) => (
        <div key={detector.detector}>
          <h3 class="soft">
            Detector {detector.detector}
            <span class="noise">
              noise {formatted({ value: detector.noise_rms, unit: run.unit, decimals: 4 })} rms
            </span>
          </h3>
          {Chart ? (
            <Chart
              run={run}
              detector={detector}
              under={under?.detectors.find((each) => each.detector === detector.detector) ?? null}
              share={share}
            />
          ) : (
            <div class="chart" />
          )}
        </div>
      ))}
      <p class="key soft">
        {under && <span class="key-under">{under.title}</span>}
        <span class="key-base">baseline</span>
        <span class="key-valve">valve events</span>
        {run.events.map((event) => (
          <span key={event.at_s}>
            {formatted({ value: event.at_s, unit: "s", decimals: 1 })} {event.action}
          </span>
        ))}
      </p>
      <details>
        <summary>The same peaks in numbers</summary>
        <PeakTable run={run} />
        <p class="soft">Area ± twice its standard uncertainty. Trace {run.trace_hash.slice(0, 12)}</p>
      </details>
    </>
  );
}

interface Props {
  /** Whose trace; the same word means the same trace. */
  of: string;
  load: (signal: AbortSignal) => Promise<Answer<Drawn>>;
  /** Where the same run can be looked into, peak by peak. */
  place?: string;
  /** Another run to draw under it. */
  under?: { of: string; load: (signal: AbortSignal) => Promise<Answer<Drawn>> } | null;
}

function useDrawn(of: string | null, load: ((signal: AbortSignal) => Promise<Answer<Drawn>>) | null) {
  const [drawn, setDrawn] = useState<{ of: string; run: Drawn } | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  useEffect(() => {
    if (of === null || load === null) {
      setDrawn(null);
      return undefined;
    }
    const away = new AbortController();
    load(away.signal).then((answer) => {
      if (away.signal.aborted) return;
      setProblem(answer.problem);
      if (answer.data) setDrawn({ of, run: answer.data });
    });
    return () => away.abort();
  }, [of]);
  return { drawn, problem };
}

export function TracePanel({ of, load, place, under = null }: Props) {
  const { drawn, problem } = useDrawn(of, load);
  const grey = useDrawn(under?.of ?? null, under?.load ?? null).drawn;
  return (
    <section class="sheet" aria-label="Trace of the chosen run" aria-busy={drawn?.of !== of}>
      {problem ? (
        <p role="alert">
          {problem.what} {problem.mend}
        </p>
      ) : drawn ? (
        <Shown run={drawn.run} under={grey?.run ?? null} place={place} />
      ) : (
        <p class="soft loading">Fetching the trace</p>
      )}
    </section>
  );
}
