// The fit of the twin to real runs: how far it is, what it found with what certainty, and what it could not find.
import { useEffect, useRef, useState } from "preact/hooks";
import { on } from "../../api/client";
import { fitTwin, getJob, stopJob } from "../../api/desk";
import type { FittedParameter, Job, Problem, Twin, TwinFit, TwinFitRequest } from "../../api/types";
import { fixed, formatted } from "../../lib/format";
import { saidOf } from "../../lib/problem";
import { KeepInVisit } from "../../parts/KeepInVisit";
import { twinTexts } from "../../texts/twin";
import { FitDialog } from "./FitDialog";

const texts = twinTexts.fit;

interface Props {
  twin: Twin;
  /** Goes on with this method in place of the one that was opened. */
  goOn: (method: { name: string; text: string }) => void;
}

function Parameters({ list }: { list: FittedParameter[] }) {
  const unit = (name: string) => (name === "1" ? "" : name);
  return (
    <section class="scroll" tabIndex={0} aria-label={texts.parameters}>
      <table class="fitted">
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
          {list.map((each) => (
            <tr key={each.name} class={each.determined ? "" : "is-undetermined"}>
              <th scope="row">{each.name.replace(":", ": ")}</th>
              <td>{formatted({ value: each.value, unit: unit(each.unit), expanded: 2 * each.u })}</td>
              <td class="soft">
                {formatted({ value: each.prior.value, unit: unit(each.unit), expanded: 2 * each.prior.u })}
              </td>
              <td class="words">
                {each.determined ? (
                  <span class="is-meets">{`\u25cf ${texts.determined}`}</span>
                ) : (
                  <span class="is-unclear">{`\u25cc ${texts.undetermined}`}</span>
                )}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

function Done({ fit, goOn }: { fit: TwinFit; goOn: Props["goOn"] }) {
  const [which, setWhich] = useState<"all" | "un">("all");
  const undetermined = fit.parameters.filter((each) => !each.determined);
  return (
    <>
      <p>
        {texts.done(fit.runs.length, fit.parameters.length - undetermined.length, fit.parameters.length)}{" "}
        <span class="soft">
          {fit.stopped}, {texts.residual} {formatted({ value: fit.residual_rms, unit: "", decimals: 4 })},{" "}
          {texts.simulations(fit.simulations)}
        </span>
      </p>
      {fit.notes.map((note) => (
        <p key={note} class="small">
          {note}
        </p>
      ))}
      {fit.warnings.map((warning) => (
        <p key={warning} class="small is-unclear">
          {warning}
        </p>
      ))}
      <div class="buttons">
        <button type="button" class="main" onClick={() => goOn(fit.method)}>
          {texts.goOn}
        </button>
        <KeepInVisit
          title={texts.keep.title}
          says={texts.keep.says}
          file={async () => ({ data: fit.method, problem: null })}
          fits={(step) => step.role === "method" && step.basis === "as_left"}
        />
        {undetermined.length > 0 && (
          <button
            type="button"
            aria-pressed={which === "un"}
            onClick={() => setWhich(which === "un" ? "all" : "un")}
          >
            {texts.onlyUndetermined(undetermined.length)}
          </button>
        )}
      </div>
      <Parameters list={which === "un" ? undetermined : fit.parameters} />
      <p class="soft small">{texts.means}</p>
    </>
  );
}

export function FitSheet({ twin, goOn }: Props) {
  const [asking, setAsking] = useState(false);
  const [job, setJob] = useState<Job | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const id = useRef<string | null>(null);
  const look = () => {
    if (id.current === null) return;
    getJob(id.current).then((answer) => {
      setProblem(answer.problem);
      if (answer.data && answer.data.id === id.current) setJob(answer.data);
    });
  };
  useEffect(() => {
    // Events say how far it is; the end is fetched, for it holds what was found.
    const off = [
      on("job", (news) => {
        if (news.id !== id.current) return;
        if (news.state === "waiting" || news.state === "running")
          setJob((now) => ({ result: null, problem: null, ...now, ...news }));
        else look();
      }),
      on("back", look),
    ];
    return () => {
      for (const stop of off) stop();
    };
  }, []);
  const begin = async (request: TwinFitRequest) => {
    setAsking(false);
    setProblem(null);
    setJob(null);
    const answer = await fitTwin(twin.id, request);
    setProblem(answer.problem);
    if (!answer.data) return;
    id.current = answer.data.job;
    look();
  };
  const going = job !== null && (job.state === "waiting" || job.state === "running");
  const fit = job?.state === "done" ? (job.result as TwinFit) : null;
  return (
    <section class="sheet column tight" aria-labelledby="fit-title">
      <header>
        <h2 id="fit-title">{texts.heading}</h2>
        <span class="soft">{texts.headingSays}</span>
      </header>
      <div class="buttons">
        <button type="button" disabled={going} onClick={() => setAsking(true)}>
          {texts.open}
        </button>
        {going && job && (
          <>
            <progress value={job.share} max={1} aria-label={job.title} />
            <span role="status">
              {job.title}: {fixed(100 * job.share, 0)}
              {"\u202f%"}
            </span>
            <button type="button" onClick={() => stopJob(job.id).then(look)}>
              {texts.stop}
            </button>
          </>
        )}
      </div>
      {job?.state === "stopped" && <p role="status">{texts.stopped}</p>}
      {(problem ?? job?.problem) && (
        <p role="alert" class="wrong">
          {saidOf((problem ?? job?.problem) as Problem)}
        </p>
      )}
      {fit && <Done fit={fit} goOn={goOn} />}
      {asking && <FitDialog close={() => setAsking(false)} begin={begin} />}
    </section>
  );
}
