// Cards of what the record knows: cylinders by what they are good for today, modules by where they have been.
import { useState } from "preact/hooks";
import { cylinderPressure } from "../../api/desk";
import type {
  CylinderLasts,
  Finding,
  Register,
  RegisterCylinder,
  RegisterModule,
  TypedPressure,
} from "../../api/types";
import { day, fixed, formatted } from "../../lib/format";
import { saidOf } from "../../lib/problem";
import { FindingBar } from "../../parts/FindingBar";
import { useLazy } from "../../parts/useLazy";
import { VerdictMark } from "../../parts/VerdictMark";
import { say } from "../../shell/toast";
import { analysersTexts as texts } from "../../texts/analysers";
import { pressureTexts } from "../../texts/pressure";

export function Due({ due }: { due: Register["due"] }) {
  if (due.length === 0) return <p class="soft">{texts.nothingDue}</p>;
  return (
    <ul class="due">
      {due.map((item) => (
        <li
          key={`${item.thing} ${item.what}`}
          class={item.days_left < 0 ? "is-fails" : item.days_left < 30 ? "is-unclear" : ""}
        >
          <b>{texts.left(item.days_left)}</b>
          <span class="due-what">
            {item.thing.replace(":", " ")}: {item.what}
          </span>
          <span class="soft">{day(item.day)}</span>
        </li>
      ))}
    </ul>
  );
}

const shown: [string, string][] = [
  ["expiry", texts.expiry],
  ["pressure", texts.pressure],
  ["cold_exposure", texts.cold],
  ["can_decide", texts.decide],
  ["certificate_sum", texts.sum],
];

function Standing({ finding, says }: { finding: Finding; says: string }) {
  return (
    <li>
      <span class="soft small">{says}</span>
      <div class="finding-value">
        <b>{formatted({ value: finding.value, unit: finding.unit })}</b>
        <VerdictMark verdict={finding.verdict} />
      </div>
      <FindingBar finding={finding} />
      <span class="soft small">
        {finding.low !== null && finding.high === null
          ? `\u2265 ${formatted({ value: finding.low, unit: finding.unit })}`
          : ""}
      </span>
    </li>
  );
}

// Days to its least pressure, by the fall of its own readings.
function Lasts({ lasts }: { lasts: CylinderLasts }) {
  const days = (value: number) => texts.lasts.days(fixed(value, 0));
  const says =
    lasts.days === null
      ? lasts.why
      : lasts.from !== null
        ? texts.lasts.between(
            fixed(lasts.from, 0),
            lasts.to === null ? texts.lasts.open : fixed(lasts.to, 0),
            lasts.readings,
          )
        : texts.lasts.of(lasts.readings);
  return (
    <li>
      <span class="soft small">{texts.lasts.title}</span>
      <div class="finding-value">
        <b>{lasts.days === null ? texts.lasts.unknown : days(lasts.days)}</b>
        {lasts.kpa_per_day !== null && (
          <span class="soft small">
            {texts.lasts.falls(formatted({ value: lasts.kpa_per_day, unit: "kPa" }))}
          </span>
        )}
      </div>
      <span class="soft small">{says}</span>
    </li>
  );
}

function PressureDialog({ serial, close }: { serial: string; close: () => void }) {
  const View = useLazy(() => import("../../parts/PressureForm"));
  const record = async (typed: TypedPressure) => {
    const answer = await cylinderPressure(serial, typed);
    if (answer.problem) return saidOf(answer.problem);
    say(pressureTexts.recorded(serial));
    return null;
  };
  return View && <View what={serial} close={close} record={record} />;
}

export function CylinderCard({ cylinder }: { cylinder: RegisterCylinder }) {
  const role =
    cylinder.role in texts.roles ? texts.roles[cylinder.role as keyof typeof texts.roles] : cylinder.role;
  const [reading, setReading] = useState(false);
  return (
    <li class="sheet">
      <header>
        <h3>{cylinder.id}</h3>
        <span class="soft">{role}</span>
        {cylinder.verdict && <VerdictMark verdict={cylinder.verdict} />}
      </header>
      {cylinder.findings.length === 0 ? (
        <p class="soft">{texts.uncertified}</p>
      ) : (
        <ul class="standing">
          {shown.map(([id, says]) => {
            const finding = cylinder.findings.find((each) => each.id === id);
            return finding && <Standing key={id} finding={finding} says={says} />;
          })}
          {cylinder.lasts && <Lasts lasts={cylinder.lasts} />}
        </ul>
      )}
      <div class="buttons">
        <button type="button" onClick={() => setReading(true)}>
          {pressureTexts.open}
        </button>
        {cylinder.readings.length > 0 && (
          <span class="soft small">{texts.lastRead(day(cylinder.readings.at(-1)?.at ?? ""))}</span>
        )}
      </div>
      {reading && <PressureDialog serial={cylinder.id} close={() => setReading(false)} />}
    </li>
  );
}

export function ModuleCard({ module }: { module: RegisterModule }) {
  return (
    <li class="sheet">
      <header>
        <h3>{module.id}</h3>
      </header>
      <Known fields={module.fields} />
      <ol class="passport">
        {module.events.map((event) => (
          <li key={`${event.at} ${event.what}`} class={event.undone ? "is-undone" : ""}>
            <span class="soft">{event.at ? day(event.at) : ""}</span>{" "}
            {event.what === "in" ? texts.in(event.analyser) : texts.out(event.analyser)}
            {event.undone && ` (${texts.undone})`}
          </li>
        ))}
      </ol>
    </li>
  );
}

export function Known({ fields }: { fields: { name: string; value: string }[] }) {
  if (fields.length === 0) return null;
  return (
    <dl class="known">
      {fields.map((field) => (
        <div key={field.name}>
          <dt>{field.name.replaceAll("_", " ")}</dt>
          <dd>{field.value}</dd>
        </div>
      ))}
    </dl>
  );
}
