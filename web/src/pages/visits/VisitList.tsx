import type { VisitHead } from "../../api/types";
import { clock, day } from "../../lib/format";
import { shellTexts } from "../../texts/shell";
import { visitsTexts as texts } from "../../texts/visits";
import "./visits.css";

export function VisitList({ visits }: { visits: VisitHead[] }) {
  return (
    <ul class="visits">
      {visits.map((visit) => (
        <li key={visit.visit}>
          <a href={`/visit/${encodeURIComponent(visit.visit)}`}>
            <b>{visit.analyser}</b>
            <span>{visit.plan.replaceAll("_", " ")}</span>
            <span class={`visit-${visit.state}`}>{texts.state[visit.state]}</span>
            {visit.invented && <span class="badge">{shellTexts.invented}</span>}
            <span class="soft small">
              {texts.opened} {day(visit.opened)}, {clock(visit.opened)}; {texts.entries(visit.entries)}
              {visit.until && `; ${texts.until} ${day(visit.until)}, ${visit.owner ?? ""}`}
            </span>
          </a>
        </li>
      ))}
    </ul>
  );
}
