import { render } from "preact";
import { useEffect, useState } from "preact/hooks";
import { getOutline, getVisit, listen } from "./api/client";
import type { Outline, Problem, Visit } from "./api/types";
import { OutlinePage } from "./pages/visit/OutlinePage";
import { VisitPage } from "./pages/visit/VisitPage";
import "./page.css";

function Trouble({ problem, again }: { problem: Problem; again: () => void }) {
  const stranger = problem.code === "session";
  return (
    <main class="sheet say">
      <h1>{stranger ? "This window has no session" : "The visit cannot be shown"}</h1>
      <p role="alert">
        {stranger
          ? "The printed address opens the page once, in one browser. Start gaswright serve again and open the new address it prints."
          : `${problem.what} ${problem.mend}`}
      </p>
      <button type="button" onClick={again}>
        Try again
      </button>
    </main>
  );
}

function Page() {
  const [visit, setVisit] = useState<Visit | null>(null);
  const [outline, setOutline] = useState<Outline | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const [there, setThere] = useState(true);
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
  const known = visit !== null;
  useEffect(() => (known ? listen(setThere) : undefined), [known]);
  useEffect(() => {
    if (visit) document.title = `${visit.analyser} ${visit.site}, Gaswright`;
  }, [visit]);
  if (problem) return <Trouble problem={problem} again={ask} />;
  if (!visit) return outline && <OutlinePage outline={outline} />;
  return <VisitPage visit={visit} there={there} />;
}

const page = document.getElementById("page");
if (page) render(<Page />, page);
