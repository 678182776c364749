// What is to be done now: the open visit, or the ways in when there is none.
import { useEffect, useState } from "preact/hooks";
import { getStart, on } from "../../api/client";
import type { Problem, Start } from "../../api/types";
import { clock, day } from "../../lib/format";
import { saidOf } from "../../lib/problem";
import { go } from "../../shell/route";
import { Say } from "../../shell/Shell";
import { nowTexts as texts } from "../../texts/now";
import { shellTexts } from "../../texts/shell";
import { WaysIn } from "./WaysIn";
import "./now.css";

const visitPath = (id: string) => `/visit/${encodeURIComponent(id)}`;

export default function NowPlace() {
  const [start, setStart] = useState<Start | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const ask = () => {
    getStart().then((answer) => {
      setProblem(answer.problem);
      if (answer.data) setStart(answer.data);
    });
  };
  useEffect(() => {
    ask();
    return on("record", ask);
  }, []);
  const only = start?.open.length === 1 ? start.open[0] : undefined;
  useEffect(() => {
    if (only) go(visitPath(only.visit), true);
  }, [only?.visit]);
  if (problem && !start)
    return <Say title={texts.trouble} says={saidOf(problem)} act={[shellTexts.again, ask]} />;
  if (!start || only) return null;
  return (
    <div class="frame">
      <main class="column">
        {start.open.length > 0 && (
          <section class="sheet" aria-labelledby="open-title">
            <header>
              <h1 id="open-title">{texts.open.title}</h1>
            </header>
            <ul class="open-visits">
              {start.open.map((visit) => (
                <li key={visit.visit}>
                  <a class="button" href={visitPath(visit.visit)}>
                    {visit.analyser}
                  </a>
                  {visit.invented && <span class="badge">{shellTexts.invented}</span>}
                  <span class="soft">
                    {day(visit.changed)}, {clock(visit.changed)}
                  </span>
                </li>
              ))}
            </ul>
          </section>
        )}
        {start.open.length > 0 ? <h2>{texts.open.also}</h2> : <h1>{texts.welcome.title}</h1>}
        <p class="ways-say">{texts.welcome.says}</p>
        <WaysIn />
      </main>
    </div>
  );
}
