// What is to be done now: the open visit, or the ways in when there is none.
import { useEffect, useState } from "preact/hooks";
import { getStart } from "../../api/client";
import type { Problem, Start } from "../../api/types";
import { Say } from "../../shell/Shell";
import { nowTexts as texts } from "../../texts/now";
import { shellTexts } from "../../texts/shell";
import "./now.css";

export default function NowPlace() {
  const [start, setStart] = useState<Start | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const ask = () => {
    getStart().then((answer) => {
      setStart(answer.data);
      setProblem(answer.problem);
    });
  };
  useEffect(ask, []);
  if (problem)
    return (
      <Say title={texts.trouble} says={`${problem.what} ${problem.mend}`} act={[shellTexts.again, ask]} />
    );
  if (!start) return null;
  return (
    <div class="frame">
      <main class="column">
        <h1>{texts.welcome.title}</h1>
        <p class="ways-say">{texts.welcome.says}</p>
        <ul class="ways">
          <li class="sheet">
            <h2>{texts.told.title}</h2>
            <p>{texts.told.says}</p>
            <a class="button" href="/demo">
              {texts.told.go}
            </a>
          </li>
        </ul>
      </main>
    </div>
  );
}
