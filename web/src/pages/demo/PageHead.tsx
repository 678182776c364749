import type { Outline } from "../../api/types";
import { day } from "../../lib/format";
import { shellTexts } from "../../texts/shell";

interface Props {
  visit: Pick<Outline, "analyser" | "site" | "plan" | "notice" | "date">;
}

export function PageHead({ visit }: Props) {
  return (
    <header class="head">
      <h1>
        {visit.analyser} {visit.site}
      </h1>
      <span>{visit.plan}</span>
      <span class="badge" title={visit.notice}>
        {shellTexts.invented}
      </span>
      <span class="day">{day(visit.date)}</span>
    </header>
  );
}
