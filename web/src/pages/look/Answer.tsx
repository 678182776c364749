import type { Look } from "../../api/types";
import { FindingList } from "../../parts/FindingList";
import { useLazy } from "../../parts/useLazy";
import { VerdictMark } from "../../parts/VerdictMark";
import { lookTexts as texts } from "../../texts/look";
import { factorTexts } from "../../texts/pictures";

export function Waiting() {
  return (
    <section class="sheet look-waiting" aria-label={texts.waiting.title}>
      <h2>{texts.waiting.title}</h2>
      <ul>
        {texts.waiting.says.map((line) => (
          <li key={line}>{line}</li>
        ))}
      </ul>
    </section>
  );
}

function Factors({ look }: { look: Look }) {
  const Picture = useLazy(() => import("../../parts/FactorPicture"));
  if (look.factors.sets.length === 0) return null;
  return (
    <section class="sheet" aria-labelledby="look-factors">
      <header>
        <h2 id="look-factors">{factorTexts.title}</h2>
      </header>
      {Picture && <Picture sets={look.factors.sets} pairs={look.factors.pairs} />}
    </section>
  );
}

export function Answer({ look }: { look: Look }) {
  return (
    <div class="column" aria-live="polite">
      <section class="sheet" aria-labelledby="suspects">
        <header>
          <h2 id="suspects">{texts.suspects(look.suspects.length)}</h2>
          <span class="look-verdict">
            <VerdictMark verdict={look.verdict} />
          </span>
        </header>
        {look.heading && <p class="soft small">{look.heading}</p>}
        {look.suspects.length === 0 && <p>{texts.unsuspected}</p>}
        <ol class="look-suspects">
          {look.suspects.map((suspect) => (
            <li key={suspect.id}>
              <h3>{suspect.title}</h3>
              {suspect.because.map((because) => (
                <p key={because}>{because}</p>
              ))}
              <p class="look-settle">
                <b>{texts.settle}:</b> {suspect.confirm}
              </p>
            </li>
          ))}
        </ol>
        {look.warnings.map((warning) => (
          <p key={warning} class="soft small">
            {warning}
          </p>
        ))}
        <p class="soft small">{texts.next}</p>
      </section>
      <section class="sheet" aria-labelledby="look-findings">
        <h2 id="look-findings">{texts.findings}</h2>
        <FindingList findings={look.findings} />
      </section>
      <Factors look={look} />
    </div>
  );
}
