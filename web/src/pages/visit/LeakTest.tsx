// The leak test by the fall of pressure, timed here: the rate as it stands, and what the wait could show so far.

import { useEffect, useState } from "preact/hooks";
import { post } from "../../api/client";
import { useDraft } from "../../lib/drafts";
import { formatted } from "../../lib/format";
import { leakFile, leakInputs, minutesWaited, waitText } from "../../lib/leak";
import { saidOf } from "../../lib/problem";
import { WrongWords } from "../../parts/Wrong";
import { places } from "../../shell/places";
import { visitTexts } from "../../texts/visit";
import type { StepProps } from "./StepForm";

const texts = visitTexts.leak;

interface Result {
  key: string;
  title?: string;
  value: number;
  u?: number | null;
  unit: string;
}

export function LeakTest(props: StepProps) {
  // The sum is one of the workshop's: without them there is nothing to ask.
  return places.some((place) => (place.id as string) === "sums") ? <Timed {...props} /> : null;
}

function Timed({ handle, visit, stage, step, done }: StepProps) {
  const { draft, put, clear } = useDraft(`${visit.visit}.${step.name}.leak`);
  const [now, setNow] = useState(Date.now);
  const [results, setResults] = useState<Result[]>([]);
  const [problem, setProblem] = useState<string | null>(null);
  const running = draft.started !== undefined && draft.stopped === undefined;
  useEffect(() => {
    if (!running) return undefined;
    const timer = setInterval(() => setNow(Date.now()), 1000);
    return () => clearInterval(timer);
  }, [running]);
  const inputs = leakInputs(draft, now);
  const asked = JSON.stringify(inputs);
  useEffect(() => {
    if (!inputs) return setResults([]);
    const away = new AbortController();
    post<{ results: Result[] }>("/api/v1/sums/leak", { inputs }, away.signal).then((answer) => {
      if (away.signal.aborted) return;
      setProblem(answer.problem && saidOf(answer.problem));
      setResults(answer.data?.results ?? []);
    });
    return () => away.abort();
  }, [asked]);
  const field = (name: string, label: string) => (
    <label>
      <span>{label}</span>
      <input
        inputMode="decimal"
        autocomplete="off"
        value={draft[name] ?? ""}
        onInput={(event) => put(name, event.currentTarget.value)}
      />
    </label>
  );
  const keep = async () => {
    if (!inputs) return;
    const file = new File([leakFile(inputs)], "leak_test.json", { type: "application/json" });
    const query = { stage: stage.name, step: step.name, as: "file" };
    if (await handle.hand(file, query, step.name, visitTexts.form.recorded(step.name))) {
      clear();
      done();
    }
  };
  const waited = minutesWaited(draft, now);
  return (
    <details class="leak" open={draft.started !== undefined}>
      <summary>{texts.title}</summary>
      <div class="column tight">
        <div class="fields">
          {field("volume", texts.volume)}
          {field("volume_u", texts.volumeU)}
          {field("p1", texts.p1)}
          {field("p_u", texts.pU)}
          {field("t1", texts.t1)}
          {field("t_u", texts.tU)}
        </div>
        <div class="buttons">
          {!running && (
            <button
              type="button"
              onClick={() => {
                put("stopped", "");
                put("started", new Date().toISOString());
                setNow(Date.now());
              }}
            >
              {draft.started ? texts.startAgain : texts.start}
            </button>
          )}
          {running && (
            <button type="button" onClick={() => put("stopped", new Date().toISOString())}>
              {texts.stop}
            </button>
          )}
          {waited !== null && <b aria-live="off">{texts.waited(waitText(waited))}</b>}
        </div>
        <div class="fields">
          {field("p2", texts.p2)}
          {field("t2", texts.t2)}
        </div>
        <WrongWords says={problem} />
        {results.length > 0 && (
          <dl class="leak-results">
            {results.map((result) => (
              <div key={result.key}>
                <dt>{result.title ?? result.key.replaceAll("_", " ")}</dt>
                <dd>{formatted({ ...result, expanded: result.u ? 2 * result.u : null })}</dd>
              </div>
            ))}
          </dl>
        )}
        <p class="caution small">{texts.caution}</p>
        <button type="button" class="main" disabled={results.length === 0 || running} onClick={keep}>
          {texts.keep}
        </button>
      </div>
    </details>
  );
}
