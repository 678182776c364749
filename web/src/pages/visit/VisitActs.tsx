// What is done with the visit as a whole: left for now, turned back, ended.
import { useState } from "preact/hooks";
import type { Standing } from "../../api/types";
import { Choices } from "../../parts/Choices";
import { Dialog } from "../../shell/Dialog";
import { visitTexts } from "../../texts/visit";
import type { VisitHandle } from "./useVisit";

const texts = visitTexts.acts;

interface Props {
  handle: VisitHandle;
  visit: Standing;
}

type Open = "interrupt" | "back" | "end" | null;

function Fallback({
  until,
  owner,
  set,
}: {
  until: string;
  owner: string;
  set: (f: string, v: string) => void;
}) {
  return (
    <div class="fields">
      <label>
        <span>{texts.until}</span>
        <input type="date" value={until} onInput={(event) => set("until", event.currentTarget.value)} />
      </label>
      <label>
        <span>{texts.owner}</span>
        <input value={owner} onInput={(event) => set("owner", event.currentTarget.value)} />
      </label>
    </div>
  );
}

export function VisitActs({ handle, visit }: Props) {
  const [open, setOpen] = useState<Open>(null);
  const [said, setSaid] = useState<Record<string, string>>({});
  const set = (field: string, value: string) => setSaid({ ...said, [field]: value });
  const close = () => setOpen(null);
  const field = (name: string, label: string) => (
    <label>
      <span>{label}</span>
      <input value={said[name] ?? ""} onInput={(event) => set(name, event.currentTarget.value)} />
    </label>
  );
  const send = async (name: string, body: Record<string, string>, news: string) => {
    const given = Object.fromEntries(Object.entries(body).filter(([, value]) => value !== ""));
    if (await handle.act(name, given, null, news)) {
      setSaid({});
      close();
    }
  };
  const { reason = "", to = "", until = "", owner = "", as = "" } = said;
  const fallback = (to || as).includes("fallback");
  if (visit.end) return null;
  return (
    <section class="sheet" aria-labelledby="acts-title">
      <header>
        <h2 id="acts-title">{texts.title}</h2>
      </header>
      <div class="buttons">
        {visit.state === "open" && (
          <button type="button" onClick={() => setOpen("interrupt")}>
            {texts.interrupt}
          </button>
        )}
        <button type="button" onClick={() => setOpen("back")}>
          {texts.back}
        </button>
        <button type="button" onClick={() => setOpen("end")}>
          {texts.end}
        </button>
      </div>
      {open === "interrupt" && (
        <Dialog title={texts.interrupt} onClose={close}>
          <p>{texts.interruptSays}</p>
          {field("reason", texts.interruptReason)}
          <button
            type="button"
            class="main"
            disabled={reason.trim() === ""}
            onClick={() => send("interrupt", { reason }, texts.interrupted)}
          >
            {texts.interrupt}
          </button>
        </Dialog>
      )}
      {open === "back" && (
        <Dialog title={texts.back} onClose={close}>
          <p>{texts.backSays}</p>
          <Choices
            legend={texts.way}
            choices={visit.ways_offered.map((way) => [way.name, way.title] as const)}
            chosen={to || null}
            choose={(next) => set("to", next)}
          />
          {visit.ways_offered.find((way) => way.name === to) && (
            <p class="soft">{visit.ways_offered.find((way) => way.name === to)?.establishes}</p>
          )}
          {field("reason", texts.reason)}
          {fallback && <Fallback until={until} owner={owner} set={set} />}
          <button
            type="button"
            class="main"
            disabled={
              to === "" || reason.trim() === "" || (fallback && (until === "" || owner.trim() === ""))
            }
            onClick={() => send("back", { to, reason, until, owner }, texts.turned)}
          >
            {texts.back}
          </button>
        </Dialog>
      )}
      {open === "end" && (
        <Dialog title={texts.end} onClose={close}>
          <p>{texts.endSays}</p>
          <Choices
            legend={texts.endAs}
            choices={texts.ends}
            chosen={as || null}
            choose={(next) => set("as", next)}
          />
          {field("reason", texts.reason)}
          {fallback && <Fallback until={until} owner={owner} set={set} />}
          <button
            type="button"
            class="main"
            disabled={as === ""}
            onClick={() => send("end", { as, reason, until, owner }, texts.ended)}
          >
            {texts.end}
          </button>
        </Dialog>
      )}
    </section>
  );
}
