import { useEffect, useState } from "preact/hooks";
import { get, post } from "../../api/client";
import type { PlanHead, Plans, VisitId } from "../../api/types";
import { useDraft } from "../../lib/drafts";
import { saidOf } from "../../lib/problem";
import { Choices } from "../../parts/Choices";
import { WrongWords } from "../../parts/Wrong";
import { go } from "../../shell/route";
import { useSettings } from "../../shell/settings";
import { visitsTexts as texts } from "../../texts/visits";

export function NewVisit() {
  const [plans, setPlans] = useState<PlanHead[]>([]);
  const [problem, setProblem] = useState<string | null>(null);
  const { draft, put, clear } = useDraft("new visit");
  const { name } = useSettings();
  useEffect(() => {
    get<Plans>("/api/v1/plans").then((answer) => setPlans(answer.data?.plans ?? []));
  }, []);
  const plan = draft.plan ?? plans.find((each) => each.name === "exchange")?.name ?? null;
  const begin = async (event: Event) => {
    event.preventDefault();
    const answer = await post<VisitId>("/api/v1/visits", {
      plan,
      analyser: (draft.analyser ?? "").trim(),
      site: draft.site ?? "",
      title: draft.title ?? "",
      by: name,
    });
    setProblem(answer.problem && saidOf(answer.problem));
    if (!answer.data) return;
    clear();
    go(`/visit/${encodeURIComponent(answer.data.visit)}`);
  };
  const field = (name: string, label: string) => (
    <label>
      <span>{label}</span>
      <input
        value={draft[name] ?? ""}
        autocomplete="off"
        onInput={(event) => put(name, event.currentTarget.value)}
      />
    </label>
  );
  return (
    <form class="sheet column" onSubmit={begin} aria-labelledby="new-title">
      <h2 id="new-title">{texts.open}</h2>
      <div class="fields">
        {field("analyser", texts.analyser)}
        {field("site", texts.site)}
        {field("title", texts.reason)}
      </div>
      <Choices
        legend={texts.plan}
        choices={plans.map((each) => [each.name, each.title] as const)}
        chosen={plan}
        choose={(next) => put("plan", next)}
      />
      <p class="soft small">{plans.find((each) => each.name === plan)?.summary}</p>
      <WrongWords says={problem} />
      <button type="submit" class="main" disabled={!plan || (draft.analyser ?? "").trim() === ""}>
        {texts.begin}
      </button>
    </form>
  );
}
