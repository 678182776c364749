// What the evidence of a stage shows: numbers against limits, as the program judged them.
import type { Finding } from "../../api/types";
import { basisWord, whereText } from "../../lib/choose";
import { formatted, limitText } from "../../lib/format";
import { FindingBar } from "../../parts/FindingBar";
import { VerdictMark } from "../../parts/VerdictMark";
import { visitTexts } from "../../texts/visit";

const texts = visitTexts.findings;

function One({ finding }: { finding: Finding }) {
  return (
    <li>
      <h3>
        {finding.title}
        <span class="soft where">
          {whereText(finding)}
          {finding.basis && `, ${basisWord[finding.basis]}`}
        </span>
      </h3>
      <div class="stage-finding">
        <VerdictMark verdict={finding.verdict} />
        <b>{formatted({ ...finding, expanded: (finding.u ?? 0) * finding.k })}</b>
        {finding.provisional && <span class="is-unclear">{texts.provisional}</span>}
        <span class="soft small">
          {texts.limit} {limitText(finding.low, finding.high, finding.unit)}
          {finding.limit_source && `, ${finding.limit_source}`}
        </span>
      </div>
      <FindingBar finding={finding} />
      {finding.note && <p class="soft small">{finding.note}</p>}
    </li>
  );
}

export function StageFindings({ findings }: { findings: Finding[] }) {
  if (findings.length === 0) return null;
  return (
    <section class="sheet" aria-labelledby="shows-title">
      <header>
        <h2 id="shows-title">{texts.title}</h2>
      </header>
      <ul class="stage-findings">
        {findings.map((finding) => (
          <One
            key={`${finding.id} ${finding.gas} ${finding.stream} ${finding.basis} ${finding.inputs[0]}`}
            finding={finding}
          />
        ))}
      </ul>
    </section>
  );
}
