import { useEffect, useState } from "preact/hooks";
import { getSums } from "../../api/desk";
import type { Problem, SumKind, Sums } from "../../api/types";
import { Wrong } from "../../parts/Wrong";
import type { PlaceProps } from "../../shell/places";
import { sumsTexts as texts } from "../../texts/sums";
import { SumSheet } from "./SumSheet";
import "./sums.css";

let known: Sums | null = null; // the list never changes while the program runs

function List({ sums, chosen }: { sums: SumKind[]; chosen: string }) {
  return (
    <nav class="sums-list" aria-label={texts.all}>
      <ul>
        {sums.map((sum) => (
          <li key={sum.name}>
            <a href={`/sums/${sum.name}`} aria-current={sum.name === chosen ? "page" : undefined}>
              {sum.title}
            </a>
          </li>
        ))}
      </ul>
    </nav>
  );
}

export default function SumsPlace({ params }: PlaceProps) {
  const [sums, setSums] = useState<Sums | null>(known);
  const [problem, setProblem] = useState<Problem | null>(null);
  useEffect(() => {
    if (known) return;
    getSums().then((answer) => {
      known = answer.data;
      setSums(answer.data);
      setProblem(answer.problem);
    });
  }, []);
  const chosen = params.sum ?? "";
  const kind = sums?.sums.find((sum) => sum.name === chosen);
  return (
    <div class="frame">
      <main class="column">
        <header class="place-head">
          <h1>{kind ? kind.title : texts.title}</h1>
          {!kind && <p class="soft">{texts.says}</p>}
        </header>
        <Wrong problem={problem} />
        {sums && chosen === "" && (
          <ul class="sums-cards">
            {sums.sums.map((sum) => (
              <li key={sum.name} class="sheet">
                <h2>
                  <a href={`/sums/${sum.name}`}>{sum.title}</a>
                </h2>
                <p class="formula">{sum.formula}</p>
              </li>
            ))}
          </ul>
        )}
        {sums && chosen !== "" && (
          <div class="sums">
            <List sums={sums.sums} chosen={chosen} />
            {kind ? (
              <SumSheet key={kind.name} kind={kind} units={sums.units} />
            ) : (
              <p role="alert">{texts.none}</p>
            )}
          </div>
        )}
      </main>
    </div>
  );
}
