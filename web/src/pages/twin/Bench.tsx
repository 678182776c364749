// The twin at work: its trace, its events as sliders, what every peak loses and gains, the proposal.

import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { retimeTwin, runTwin, twinSheet } from "../../api/desk";
import type { Problem, ProgrammeEvent, Proposal, Twin, TwinRun } from "../../api/types";
import { fixed } from "../../lib/format";
import { latest } from "../../lib/latest";
import { moved, ordered, same, worseThan } from "../../lib/programme";
import { Choices } from "../../parts/Choices";
import { KeepInVisit } from "../../parts/KeepInVisit";
import { Wrong } from "../../parts/Wrong";
import { twinTexts as texts } from "../../texts/twin";
import { Programme } from "./Programme";
import { ProposalSheet } from "./ProposalSheet";
import { Shares } from "./Shares";
import { TwinPlot } from "./TwinPlot";

export function Bench({ twin }: { twin: Twin }) {
  const [programme, setProgramme] = useState<ProgrammeEvent[]>(twin.programme);
  const [past, setPast] = useState<ProgrammeEvent[][]>([]);
  const [first, setFirst] = useState<TwinRun | null>(null);
  const [run, setRun] = useState<TwinRun | null>(null);
  const [proposal, setProposal] = useState<Proposal | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const [busy, setBusy] = useState(false);
  const [detector, setDetector] = useState("1");
  const [took, setTook] = useState<number | null>(null);
  const before = useRef<ProgrammeEvent[] | null>(null);
  const asking = useMemo(
    () =>
      latest(
        async (next: ProgrammeEvent[]) => {
          const began = performance.now();
          const answer = await runTwin(twin.id, next, null);
          return { answer, ms: performance.now() - began };
        },
        ({ answer, ms }) => {
          setProblem(answer.problem);
          if (!answer.data) return;
          setRun(answer.data);
          setFirst((it) => it ?? answer.data);
          setTook(ms);
          performance.measure("twin answered", { start: performance.now() - ms, duration: ms });
        },
      ),
    [twin.id],
  );
  useEffect(() => {
    asking.ask(twin.programme);
    return () => asking.stop();
  }, [asking]);

  const put = (next: ProgrammeEvent[]) => {
    setProgramme(next);
    asking.ask(next);
  };
  const move = (index: number, at_s: number, done: boolean) => {
    before.current ??= programme;
    const next = moved(programme, index, at_s, twin.time_step_s, twin.cycle_s);
    if (!same(next, programme)) put(next);
    if (done && before.current) {
      const start = before.current;
      before.current = null;
      if (!same(start, next)) setPast([...past.slice(-50), start]);
    }
  };
  const replace = (next: ProgrammeEvent[]) => {
    if (same(next, programme)) return;
    setPast([...past.slice(-50), programme]);
    put(next);
  };
  const undo = () => {
    const last = past.at(-1);
    if (!last) return;
    setPast(past.slice(0, -1));
    put(last);
  };
  const propose = () => {
    setBusy(true);
    retimeTwin(twin.id, programme).then((answer) => {
      setBusy(false);
      setProposal(answer.data);
      setProblem(answer.problem);
    });
  };
  const windows = proposal ? ordered(programme, proposal.programme) : [];
  const takeOver = () =>
    proposal && replace(programme.map((event, i) => ({ ...event, at_s: windows[i]?.at_s ?? event.at_s })));

  const worse = worseThan(run?.peaks ?? [], proposal?.losses ?? first?.peaks ?? []);
  return (
    <>
      <section class="sheet" aria-label={texts.plot}>
        {twin.detectors > 1 && (
          <Choices
            legend={texts.detector}
            choices={Array.from(
              { length: twin.detectors },
              (_, i) => [String(i + 1), String(i + 1)] as const,
            )}
            chosen={detector}
            choose={setDetector}
          />
        )}
        <TwinPlot
          twin={twin}
          run={run}
          first={first}
          worse={worse}
          detector={Number(detector)}
          programme={programme}
          windows={windows}
          move={move}
        />
        <Programme
          twin={twin}
          programme={programme}
          windows={windows}
          move={(index, at_s) => move(index, at_s, true)}
        />
        <div class="buttons">
          <button type="button" class="main" disabled={busy} onClick={propose}>
            {busy ? texts.proposing : texts.propose}
          </button>
          <button type="button" disabled={past.length === 0} onClick={undo}>
            {texts.undo}
          </button>
          <button
            type="button"
            disabled={same(programme, twin.programme)}
            onClick={() => replace(twin.programme)}
          >
            {texts.back}
          </button>
          <KeepInVisit
            title={texts.keep.title}
            says={texts.keep.says}
            file={() => twinSheet(twin.id, programme)}
            fits={(step) => step.role === "method" && step.basis === "as_left"}
          />
          {took !== null && <span class="soft small">{texts.answered(fixed(took, 0))}</span>}
        </div>
        <Wrong problem={problem} />
        {[...twin.warnings, ...(run?.warnings ?? [])].map((warning) => (
          <p key={warning} class="wrong">
            {warning}
          </p>
        ))}
      </section>
      <div class="twin-below">
        {run && <Shares run={run} first={first} worse={worse} />}
        {proposal && <ProposalSheet proposal={proposal} takeOver={takeOver} />}
      </div>
      <p class="caution">{texts.caution}</p>
    </>
  );
}
