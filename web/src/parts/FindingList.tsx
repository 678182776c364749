// Findings one under the other: what, its number with its interval against the limits, the verdict, the source.
import type { Finding } from "../api/types";
import { whereText } from "../lib/choose";
import { formatted, limitText } from "../lib/format";
import { findingTexts as texts } from "../texts/findings";
import { FindingBar } from "./FindingBar";
import { VerdictMark } from "./VerdictMark";
import "./finding-list.css";

export function FindingList({ findings, label }: { findings: Finding[]; label?: string }) {
  if (findings.length === 0) return <p class="soft">{texts.none}</p>;
  return (
    <ul class="finding-list" aria-label={label}>
      {findings.map((f) => (
        <li key={`${f.id} ${f.gas} ${f.stream} ${f.basis}`}>
          <h3>
            {f.title}
            <span class="soft plain">{whereText(f)}</span>
            {f.required && <span class="pill">{texts.decides}</span>}
          </h3>
          <div class="finding-value">
            <b>{formatted({ ...f, expanded: (f.u ?? 0) * f.k })}</b>
            <VerdictMark verdict={f.verdict} />
          </div>
          <FindingBar finding={f} />
          <p class="soft small">
            {texts.limit} {limitText(f.low, f.high, f.unit)}
            {f.limit_source && `, ${f.limit_source}`}
          </p>
          {f.note && <p class="small">{f.note}</p>}
        </li>
      ))}
    </ul>
  );
}
