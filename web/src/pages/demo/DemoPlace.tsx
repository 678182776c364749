// The invented visit as it is told: every run on its line, read only.
import { useEffect, useState } from "preact/hooks";
import { getOutline, getVisit } from "../../api/client";
import type { Outline, Problem, Visit } from "../../api/types";
import { Say } from "../../shell/Shell";
import { demoTexts } from "../../texts/demo";
import { shellTexts } from "../../texts/shell";
import { OutlinePage } from "./OutlinePage";
import { ToldPage } from "./ToldPage";

export default function DemoPlace() {
  const [visit, setVisit] = useState<Visit | null>(null);
  const [outline, setOutline] = useState<Outline | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const ask = () => {
    setProblem(null);
    getOutline().then((first) => {
      setOutline(first.data);
      setProblem(first.problem);
      if (first.problem) return;
      getVisit().then((answer) => {
        setVisit(answer.data);
        setProblem(answer.problem);
      });
    });
  };
  useEffect(ask, []);
  if (problem)
    return (
      <Say title={demoTexts.trouble} says={`${problem.what} ${problem.mend}`} act={[shellTexts.again, ask]} />
    );
  if (!visit) return outline && <OutlinePage outline={outline} />;
  return <ToldPage visit={visit} />;
}
