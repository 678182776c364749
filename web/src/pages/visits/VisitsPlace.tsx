import { useEffect, useState } from "preact/hooks";
import { get, on } from "../../api/client";
import type { Problem, Visits } from "../../api/types";
import { saidOf } from "../../lib/problem";
import { Say } from "../../shell/Shell";
import { shellTexts } from "../../texts/shell";
import { visitsTexts as texts } from "../../texts/visits";
import { NewVisit } from "./NewVisit";
import { VisitList } from "./VisitList";

export default function VisitsPlace() {
  const [list, setList] = useState<Visits | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const ask = () => {
    get<Visits>("/api/v1/visits").then((answer) => {
      setProblem(answer.problem);
      if (answer.data) setList(answer.data);
    });
  };
  useEffect(() => {
    ask();
    const heard = [on("record", ask), on("back", ask)];
    return () => {
      for (const stop of heard) stop();
    };
  }, []);
  if (problem && !list)
    return <Say title={texts.trouble} says={saidOf(problem)} act={[shellTexts.again, ask]} />;
  return (
    <div class="frame">
      <main class="work">
        <section class="sheet" aria-labelledby="visits-title">
          <header>
            <h1 id="visits-title">{texts.title}</h1>
          </header>
          {list && list.visits.length === 0 && <p class="soft">{texts.none}</p>}
          {list && <VisitList visits={list.visits} />}
        </section>
        <NewVisit />
      </main>
    </div>
  );
}
