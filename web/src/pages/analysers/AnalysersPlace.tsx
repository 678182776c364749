import { useState } from "preact/hooks";
import { type Book, getExample, openHistory } from "../../api/desk";
import type { History, Problem, Register } from "../../api/types";
import { day } from "../../lib/format";
import { saidOf } from "../../lib/problem";
import { dropping, FileButton } from "../../parts/FileButton";
import { PlaceFrame } from "../../parts/PlaceFrame";
import { Wrong } from "../../parts/Wrong";
import { analysersTexts as texts } from "../../texts/analysers";
import { HistoryView } from "./HistoryView";
import { CylinderCard, Due, Known, ModuleCard } from "./Register";
import { useRegisters } from "./useRegister";
import "./analysers.css";

function Results() {
  const [history, setHistory] = useState<History | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const [busy, setBusy] = useState(false);
  const take = (name: string, bytes: Blob) => {
    setBusy(true);
    openHistory(name, bytes).then((answer) => {
      setBusy(false);
      setProblem(answer.problem);
      if (answer.data) setHistory(answer.data);
    });
  };
  const open = (file: File) => take(file.name, file);
  const example = async () => {
    const { data } = await getExample("weekly_checks.csv");
    if (data) take(data.name, new Blob([data.text]));
  };
  return (
    <section class="sheet column results" aria-label={texts.results} aria-busy={busy} {...dropping(open)}>
      <header>
        <h2>{history ? history.name : texts.results}</h2>
        {!history && <span class="soft">{texts.resultsSays}</span>}
      </header>
      <div class="buttons">
        <FileButton says={texts.results} accept=".csv,.txt,text/*" main={!history} open={open} />
        <button type="button" class="quiet" onClick={example}>
          {texts.example}
        </button>
        {history && (
          <button type="button" class="quiet" onClick={() => setHistory(null)}>
            {texts.away}
          </button>
        )}
      </div>
      <Wrong problem={problem} where />
      {history && <HistoryView key={history.id} history={history} />}
    </section>
  );
}

function RecordSheet({ book, register }: { book: Book; register: Register }) {
  const nothing = [register.analysers, register.modules, register.cylinders, register.others].every(
    (list) => list.length === 0,
  );
  if (nothing && book === "invented") return null;
  return (
    <div class="column">
      {book === "invented" && <span class="badge">{texts.invented}</span>}
      <section class="sheet" aria-label={book === "invented" ? `${texts.due}, ${texts.invented}` : texts.due}>
        <h2>{texts.due}</h2>
        <Due due={register.due} />
      </section>
      <h2>{texts.analysers}</h2>
      {register.analysers.length === 0 && <p class="soft">{texts.none}</p>}
      <ul class="cards">
        {register.analysers.map((analyser) => (
          <li key={analyser.id} class="sheet">
            <h3>
              <a href={`/analysers/${encodeURIComponent(analyser.id)}`}>{analyser.id}</a>
            </h3>
            <Known fields={analyser.fields} />
            <p>
              {analyser.module ? (
                `${texts.module}: ${analyser.module}`
              ) : (
                <span class="soft">{texts.noModule}</span>
              )}
            </p>
            <p class="soft">
              {texts.visits(analyser.visits.length)}
              {analyser.visits[0] && `, ${texts.lastVisit} ${day(analyser.visits[0].opened)}`}
            </p>
          </li>
        ))}
      </ul>
      <h2>{texts.cylinders}</h2>
      {register.cylinders.length === 0 && <p class="soft">{texts.noCylinders}</p>}
      <ul class="cards">
        {register.cylinders.map((cylinder) => (
          <CylinderCard key={cylinder.id} cylinder={cylinder} />
        ))}
      </ul>
      <h2>{texts.modules}</h2>
      {register.modules.length === 0 && <p class="soft">{texts.noModules}</p>}
      <ul class="cards">
        {register.modules.map((module) => (
          <ModuleCard key={module.id} module={module} />
        ))}
      </ul>
      {register.others.length > 0 && (
        <details>
          <summary>{texts.others}</summary>
          <ul class="cards">
            {register.others.map((thing) => (
              <li key={`${thing.kind} ${thing.id}`} class="sheet">
                <h3>
                  {thing.id} <span class="soft">{thing.kind}</span>
                </h3>
                <Known fields={thing.fields} />
              </li>
            ))}
          </ul>
        </details>
      )}
    </div>
  );
}

export default function AnalysersPlace() {
  const { own, invented, problem } = useRegisters();
  return (
    <PlaceFrame title={texts.title} says={texts.says}>
      {problem && (
        <p role="alert" class="wrong">
          {texts.trouble}: {saidOf(problem)}
        </p>
      )}
      {own && <RecordSheet book="own" register={own} />}
      {invented && <RecordSheet book="invented" register={invented} />}
      <Results />
    </PlaceFrame>
  );
}
