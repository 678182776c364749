// Cards of what the record knows: cylinders by what they are good for today, modules by where they have been.
import type { Finding, Register, RegisterCylinder, RegisterModule } from "../../api/types";
import { day, formatted } from "../../lib/format";
import { FindingBar } from "../../parts/FindingBar";
import { VerdictMark } from "../../parts/VerdictMark";
import { analysersTexts as texts } from "../../texts/analysers";

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

export function CylinderCard({ cylinder }: { cylinder: RegisterCylinder }) {
  const role =
    cylinder.role in texts.roles ? texts.roles[cylinder.role as keyof typeof texts.roles] : cylinder.role;
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
        </ul>
      )}
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
