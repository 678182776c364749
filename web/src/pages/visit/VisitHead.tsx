import type { Standing } from "../../api/types";
import { clock, day } from "../../lib/format";
import { minutesText } from "../../lib/visit";
import { shellTexts } from "../../texts/shell";
import { visitTexts } from "../../texts/visit";

const texts = visitTexts.head;

function Minutes({ visit }: { visit: Standing }) {
  const { needed, permit_left, fits } = visit.minutes;
  if (visit.end) return null;
  const until = visit.permit_end ? clock(visit.permit_end) : "";
  return (
    <p class="minutes">
      <b>{texts.needed(minutesText(needed))}</b>
      {permit_left === null ? (
        <span class="soft">{texts.noPermit}</span>
      ) : (
        <>
          <span>
            {permit_left > 0 ? texts.permit(until, minutesText(permit_left)) : texts.permitOver(until)}
          </span>
          <b class={fits ? "is-meets" : "is-fails"}>{fits ? texts.fits : texts.fitsNot}</b>
        </>
      )}
    </p>
  );
}

export function VisitHead({ visit }: { visit: Standing }) {
  return (
    <header class="head">
      <h1>
        {visit.analyser}
        {visit.site && ` ${visit.site}`}
      </h1>
      <span>{visit.title}</span>
      {visit.invented && <span class="badge">{shellTexts.invented}</span>}
      <Minutes visit={visit} />
      <span class="day soft">
        {texts.opened} {day(visit.opened)}, {clock(visit.opened)}
      </span>
    </header>
  );
}
