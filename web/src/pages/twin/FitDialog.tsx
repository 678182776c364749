// Which runs of which visit the twin is fitted to, and which gas ran.
import { useState } from "preact/hooks";
import type { TwinFitRequest } from "../../api/types";
import { clock } from "../../lib/format";
import { type RunOfVisit, runsOf } from "../../lib/visitRuns";
import { Choices } from "../../parts/Choices";
import { useChosenVisit, VisitChoice } from "../../parts/ChosenVisit";
import { Wrong } from "../../parts/Wrong";
import { Dialog } from "../../shell/Dialog";
import { twinTexts } from "../../texts/twin";

const texts = twinTexts.fit;

type Gas = TwinFitRequest["gas"];

interface Props {
  close: () => void;
  begin: (request: TwinFitRequest) => void;
}

const sameKind = (a: RunOfVisit, b: RunOfVisit) =>
  a.step === b.step && a.stream === b.stream && a.basis === b.basis;

export function FitDialog({ close, begin }: Props) {
  const [chosen, setChosen] = useState<RunOfVisit[]>([]);
  const [gas, setGas] = useState<Gas>("certified");
  const of = useChosenVisit(() => setChosen([]));
  const { visit, standing, problem } = of;
  const runs = standing ? runsOf(standing) : [];
  const steps = [...new Set(runs.map((run) => run.step))];
  const first = chosen[0];
  const certified = first !== undefined && first.gas !== "line";
  const turn = (run: RunOfVisit) =>
    setChosen((now) => {
      if (now.some((each) => each.entry === run.entry)) return now.filter((each) => each.entry !== run.entry);
      const next = now[0] && sameKind(now[0], run) ? [...now, run] : [run];
      // A line gas has no certificate: what ran is not known unless somebody opened it.
      if (!now[0] || !sameKind(now[0], run)) setGas(run.gas === "line" ? "unknown" : "certified");
      return next;
    });
  return (
    <Dialog title={texts.title} onClose={close} wide>
      <div class="column">
        <p class="soft">{texts.says}</p>
        <VisitChoice of={of} label={texts.visit} none={texts.noVisit} />
        {standing && runs.length === 0 && <p>{texts.noRuns}</p>}
        {steps.map((step) => (
          <fieldset key={step} class="field">
            <legend>{step}</legend>
            <div class="choices">
              {runs
                .filter((run) => run.step === step)
                .map((run) => (
                  <label key={run.entry}>
                    <input
                      type="checkbox"
                      checked={chosen.some((each) => each.entry === run.entry)}
                      onChange={() => turn(run)}
                    />
                    <span>
                      {clock(run.at)}
                      {run.stream && `, ${texts.stream} ${run.stream}`}
                    </span>
                  </label>
                ))}
            </div>
          </fieldset>
        ))}
        {first && (
          <Choices
            legend={texts.gas.legend}
            choices={(["certified", "opened", "unknown"] as const)
              .filter((each) => each !== "certified" || certified)
              .map((each) => [each, texts.gas[each]] as const)}
            chosen={gas}
            choose={setGas}
          />
        )}
        {first && <p class="soft small">{texts.gas.means[gas]}</p>}
        <Wrong problem={problem} />
        <button
          type="button"
          class="main"
          disabled={chosen.length === 0}
          onClick={() => begin({ visit, entries: chosen.map((run) => run.entry), gas })}
        >
          {texts.begin(chosen.length)}
        </button>
      </div>
    </Dialog>
  );
}
