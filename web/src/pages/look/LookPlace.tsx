import { useState } from "preact/hooks";
import { look } from "../../api/desk";
import type { LookAnswer, Problem } from "../../api/types";
import { PlaceFrame } from "../../parts/PlaceFrame";
import { lookTexts as texts } from "../../texts/look";
import { Answer, Waiting } from "./Answer";
import { Entry } from "./Entry";
import "./look.css";

export default function LookPlace() {
  const [answer, setAnswer] = useState<LookAnswer | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const [busy, setBusy] = useState(false);
  const ask = (report: string, cylinder: string | null) => {
    setBusy(true);
    look(cylinder === null ? { report } : { report, cylinder }).then((reply) => {
      setBusy(false);
      setAnswer(reply.data);
      setProblem(reply.problem);
    });
  };
  const forget = () => {
    setAnswer(null);
    setProblem(null);
  };
  return (
    <PlaceFrame title={texts.title} says={texts.says}>
      <div class="look">
        <Entry ask={ask} busy={busy} faults={answer?.faults ?? []} problem={problem} changed={forget} />
        {answer?.look ? <Answer look={answer.look} /> : <Waiting />}
      </div>
    </PlaceFrame>
  );
}
