import { useEffect, useState } from "preact/hooks";
import { analyserHistory, type Book } from "../../api/desk";
import type { History, Problem } from "../../api/types";
import { day } from "../../lib/format";
import { Wrong } from "../../parts/Wrong";
import type { PlaceProps } from "../../shell/places";
import { historyTexts, analysersTexts as texts } from "../../texts/analysers";
import { HistoryView } from "./HistoryView";
import { Known } from "./Register";
import { useRegisters } from "./useRegister";
import "./analysers.css";

export default function AnalyserPlace({ params }: PlaceProps) {
  const tag = params.tag ?? "";
  const { own, invented, problem } = useRegisters();
  const mine = own?.analysers.find((each) => each.id === tag);
  const told = invented?.analysers.find((each) => each.id === tag);
  const analyser = mine ?? told;
  const book: Book | null = mine ? "own" : told ? "invented" : null;
  const [history, setHistory] = useState<History | null>(null);
  const [trouble, setTrouble] = useState<Problem | null>(null);
  const grown = analyser?.visits.length;
  useEffect(() => {
    if (!book) return;
    analyserHistory(tag, book).then((answer) => {
      setHistory(answer.data);
      setTrouble(answer.problem);
    });
  }, [tag, book, grown]);
  const wrong = problem ?? trouble;
  return (
    <div class="frame">
      <main class="column">
        <header class="place-head">
          <a href="/analysers">{texts.back}</a>
          <h1>{tag}</h1>
          {book === "invented" && <span class="badge">{texts.invented}</span>}
        </header>
        <Wrong problem={wrong} />
        {own && invented && !analyser && <p role="alert">{texts.unknown}</p>}
        {analyser && (
          <>
            <section class="sheet column" aria-label={historyTexts.title}>
              <h2>{historyTexts.title}</h2>
              {history && <HistoryView key={history.id} history={history} />}
            </section>
            <section class="sheet column" aria-label={texts.passport}>
              <h2>{texts.passport}</h2>
              <p>
                {analyser.module ? (
                  `${texts.module}: ${analyser.module}`
                ) : (
                  <span class="soft">{texts.noModule}</span>
                )}
              </p>
              <Known fields={analyser.fields} />
              <ul class="analyser-visits">
                {analyser.visits.map((visit) => (
                  <li key={visit.visit}>
                    <a href={`/visit/${encodeURIComponent(visit.visit)}`}>{visit.visit}</a>
                    <span>{visit.plan}</span>
                    <span class="soft">
                      {day(visit.opened)}, {visit.state}
                    </span>
                  </li>
                ))}
              </ul>
            </section>
          </>
        )}
      </main>
    </div>
  );
}
