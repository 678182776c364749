import type { ComponentChildren } from "preact";
import type { Outline } from "../../api/types";
import { day } from "../../lib/format";

interface Props {
  visit: Pick<Outline, "analyser" | "site" | "plan" | "notice" | "date">;
  children?: ComponentChildren;
}

export function PageHead({ visit, children }: Props) {
  return (
    <header class="head">
      <h1>
        {visit.analyser} {visit.site}
      </h1>
      <span>{visit.plan}</span>
      <span class="badge" title={visit.notice}>
        INVENTED DATA
      </span>
      {children}
      <span class="day">{day(visit.date)}</span>
    </header>
  );
}
