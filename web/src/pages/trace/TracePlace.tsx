import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { type Answer, get } from "../../api/client";
import { getExample, getTrace, handPeak, nameTrace, openTrace, traceExport } from "../../api/desk";
import type { HandPeak, HandRequest, Problem, ShownPeak, Standing, TraceShown } from "../../api/types";
import { type Decision, decisionsOf, find, put, save, without } from "../../lib/decisions";
import { clock, formatted } from "../../lib/format";
import { latest } from "../../lib/latest";
import type { Stretch } from "../../lib/plot";
import { overlays, type RunOfVisit, runsOf } from "../../lib/visitRuns";
import { Choices } from "../../parts/Choices";
import { dropping, FileButton, textOfFile } from "../../parts/FileButton";
import { Wrong } from "../../parts/Wrong";
import { go, useAddress } from "../../shell/route";
import { say } from "../../shell/toast";
import { plotTexts } from "../../texts/plot";
import { traceTexts as texts } from "../../texts/trace";
import { FromVisit } from "./FromVisit";
import { HandPanel } from "./HandPanel";
import { openRun } from "./openRun";
import { PeakTable } from "./PeakTable";
import { type End, type Ends, TracePlot } from "./TracePlot";
import "./trace-place.css";

/** From the address, so that a reload and a link from a visit's evidence open the same. */
const idOf = (query: string) => new URLSearchParams(query).get("id") ?? "";

/** "?visit=PX-7-1&entry=31": a run of a visit, to which there is a way back. */
function runOf(query: string): { visit: string; entry: number } | null {
  const asked = new URLSearchParams(query);
  const visit = asked.get("visit");
  const entry = Number(asked.get("entry"));
  return visit && Number.isInteger(entry) && entry > 0 ? { visit, entry } : null;
}

interface OfVisit {
  standing: Standing;
  run: RunOfVisit;
}

function WayBack({ of }: { of: OfVisit }) {
  const { standing, run } = of;
  return (
    <p class="way-back">
      <a class="button" href={`/visit/${encodeURIComponent(standing.visit)}?run=${run.entry}`}>
        {texts.visit.back(standing.visit)}
      </a>
      <span class="soft">
        {run.step}, {clock(run.at)}
        {run.stream && `, ${texts.visit.stream} ${run.stream}`}
      </span>
    </p>
  );
}

/** Other runs of the same visit, to be laid over this one. */
function Over({ of, lay }: { of: OfVisit; lay: (run: RunOfVisit | null) => void }) {
  const [chosen, setChosen] = useState("");
  const groups = overlays(runsOf(of.standing), of.run);
  if (groups.length === 0) return null;
  return (
    <label class="trace-over">
      <span>{texts.visit.over}</span>
      <select
        value={chosen}
        onChange={(event) => {
          const value = event.currentTarget.value;
          setChosen(value);
          const runs = groups.flatMap((group) => group.runs);
          lay(runs.find((run) => String(run.entry) === value) ?? null);
        }}
      >
        <option value="">{texts.visit.overNone}</option>
        {groups.map((group) => (
          <optgroup key={group.step} label={group.step}>
            {group.runs.map((run) => (
              <option key={run.entry} value={String(run.entry)}>
                {clock(run.at)}, {run.file}
              </option>
            ))}
          </optgroup>
        ))}
      </select>
    </label>
  );
}

export default function TracePlace() {
  const { query } = useAddress();
  const [trace, setTrace] = useState<TraceShown | null>(null);
  const [overlay, setOverlay] = useState<TraceShown | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const [rate, setRate] = useState("");
  const [asking, setAsking] = useState(false);
  const [ofVisit, setOfVisit] = useState<OfVisit | null>(null);
  const opened = (answer: Answer<TraceShown>) => {
    setProblem(answer.problem);
    if (!answer.data) return;
    setOfVisit(null);
    setTrace(answer.data);
    go(`/trace?id=${encodeURIComponent(answer.data.id)}`, true);
  };
  const openedRun = (standing: Standing, run: RunOfVisit, shown: TraceShown) => {
    setOfVisit({ standing, run });
    setOverlay(null);
    setTrace({ ...shown, name: run.file });
    go(`/trace?visit=${encodeURIComponent(standing.visit)}&entry=${run.entry}`, true);
  };
  const openAsked = async (visit: string, entry: number) => {
    const answer = await get<Standing>(`/api/v1/visits/${encodeURIComponent(visit)}`);
    setProblem(answer.problem);
    if (!answer.data) return;
    const run = runsOf(answer.data).find((each) => each.entry === entry);
    if (!run) return setProblem({ code: "not_found", what: texts.visit.noRun, where: "", mend: "" });
    const shown = await openRun(answer.data, run);
    setProblem(shown.problem);
    if (shown.data) openedRun(answer.data, run, shown.data);
  };
  const lay = async (run: RunOfVisit | null) => {
    if (!run || !ofVisit) return setOverlay(null);
    const answer = await openRun(ofVisit.standing, run);
    setProblem(answer.problem);
    setOverlay(answer.data && { ...answer.data, name: run.file });
  };
  useEffect(() => {
    const asked = runOf(query);
    if (asked) {
      if (ofVisit?.run.entry !== asked.entry || ofVisit.standing.visit !== asked.visit)
        openAsked(asked.visit, asked.entry);
      return;
    }
    const id = idOf(query);
    if (id !== "" && trace?.id !== id)
      getTrace(id).then((answer) => {
        setProblem(answer.problem);
        if (answer.data) setTrace(answer.data);
      });
  }, [query]);
  const open = (file: File) => openTrace(file.name, file, rate).then(opened);
  const openMethod = async (file: File) => {
    if (trace) opened(await nameTrace(trace.trace_hash, await textOfFile(file)));
  };
  const openOverlay = (file: File) =>
    openTrace(file.name, file, rate).then((answer) => {
      setProblem(answer.problem);
      if (answer.data) setOverlay(answer.data);
    });
  const example = async () => {
    const [left, found, method] = await Promise.all(
      ["line_gas_as_left.csv", "line_gas_as_found.csv", "method.json"].map(getExample),
    );
    if (!left?.data || !found?.data || !method?.data) return;
    const plain = await openTrace(left.data.name, new Blob([left.data.text]), "");
    if (plain.data) opened(await nameTrace(plain.data.id, method.data.text));
    const second = await openTrace(found.data.name, new Blob([found.data.text]), "");
    if (second.data) setOverlay(second.data);
  };
  return (
    <div class="frame">
      <main class="column" {...dropping(open)}>
        <header class="place-head">
          <h1>{texts.title}</h1>
          {!trace && <p class="soft">{texts.says}</p>}
        </header>
        {ofVisit && <WayBack of={ofVisit} />}
        <div class="buttons">
          <FileButton says={texts.open} main={!trace} open={open} />
          <button type="button" onClick={() => setAsking(true)}>
            {texts.visit.open}
          </button>
          {trace && <FileButton says={texts.method} accept=".json,application/json" open={openMethod} />}
          {trace && ofVisit && <Over key={ofVisit.run.entry} of={ofVisit} lay={lay} />}
          {trace && !overlay && !ofVisit && <FileButton says={texts.overlay} open={openOverlay} />}
          {overlay && !ofVisit && (
            <button type="button" onClick={() => setOverlay(null)}>
              {texts.overlayAway}
            </button>
          )}
          <button type="button" class="quiet" onClick={example}>
            {texts.example}
          </button>
          {!trace && (
            <label class="trace-rate">
              <span>{texts.rate}</span>
              <input
                value={rate}
                inputMode="decimal"
                onInput={(event) => setRate(event.currentTarget.value)}
              />
            </label>
          )}
        </div>
        <Wrong problem={problem} />
        {asking && <FromVisit close={() => setAsking(false)} opened={openedRun} />}
        {trace && (
          <Shown
            key={trace.id}
            trace={trace}
            overlay={overlay}
            near={ofVisit && { visit: ofVisit.standing.visit, step: ofVisit.run.step }}
          />
        )}
      </main>
    </div>
  );
}

interface ShownProps {
  trace: TraceShown;
  overlay: TraceShown | null;
  near: { visit: string; step: string } | null;
}

function Shown({ trace, overlay, near }: ShownProps) {
  const [detector, setDetector] = useState("1");
  const [chosen, setChosen] = useState<ShownPeak | null>(null);
  const [show, setShow] = useState<Stretch | null>(null);
  const [ends, setEnds] = useState<Ends | null>(null);
  const [hand, setHand] = useState<HandPeak | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const [decisions, setDecisions] = useState(() => decisionsOf(trace.trace_hash));
  const sheet = useRef<HTMLElement>(null);
  const fresh = useRef(true); // the first answer tells where the baseline was laid
  const asking = useMemo(
    () =>
      latest(
        (request: HandRequest) => handPeak(trace.id, request, null),
        (answer) => {
          setProblem(answer.problem);
          setHand(answer.data);
          const data = answer.data;
          if (data && fresh.current) {
            fresh.current = false;
            setEnds((now) => now && { ...now, base_start: data.base_start, base_end: data.base_end });
          }
        },
      ),
    [trace.id],
  );
  useEffect(() => () => asking.stop(), [asking]);

  const choose = (peak: ShownPeak | null, near = false) => {
    setChosen(peak);
    setEnds(null);
    setHand(null);
    setProblem(null);
    if (!peak || !near) return;
    const room = 1.2 * (peak.end_s - peak.start_s);
    setShow({ from: peak.start_s - room, to: peak.end_s + room });
  };
  const begin = () => {
    if (!chosen) return;
    const before = find(decisions, chosen.detector, chosen.apex_s)?.peak;
    const room = 1.2 * (chosen.end_s - chosen.start_s);
    sheet.current?.scrollIntoView({ block: "nearest" });
    setShow({ from: chosen.start_s - room, to: chosen.end_s + room });
    const it = before ?? { start_s: chosen.start_s, end_s: chosen.end_s, base_start: 0, base_end: 0 };
    const { start_s, end_s, base_start, base_end } = it;
    setEnds({ start_s, end_s, base_start, base_end });
    fresh.current = !before;
    asking.ask({
      detector: chosen.detector,
      start_s,
      end_s,
      component: chosen.component ?? "",
      ...(before ? { base_start, base_end } : {}),
    });
  };
  const moveEnd = (end: End, value: number) => {
    if (!ends || !chosen) return;
    const next = { ...ends, [end]: value };
    setEnds(next);
    fresh.current = false;
    asking.ask({ detector: chosen.detector, ...next, component: chosen.component ?? "" });
  };
  const store = (list: Decision[]) => {
    setDecisions(list);
    save(trace.trace_hash, list);
  };
  const keep = (decision: Decision) => {
    const before = decisions;
    store(put(decisions, decision));
    choose(chosen);
    say(texts.hand.kept(chosen?.component ?? plotTexts.unnamed), () => store(before));
  };
  const undo = () => {
    if (!chosen) return;
    const before = decisions;
    store(without(decisions, chosen.detector, chosen.apex_s));
    choose(chosen);
    say(texts.hand.gone, () => store(before));
  };
  const kept = chosen && find(decisions, chosen.detector, chosen.apex_s);
  return (
    <>
      <section class="sheet" aria-label={trace.name} ref={sheet}>
        <header>
          <h2>{trace.name}</h2>
          <span class="soft">
            {trace.method ?? ""}
            {overlay && (
              <span class="key-overlay">
                {overlay.name} {texts.over}
              </span>
            )}
          </span>
        </header>
        {trace.detectors.length > 1 && (
          <Choices
            legend={texts.detector}
            choices={trace.detectors.map((each) => [String(each.detector), String(each.detector)] as const)}
            chosen={detector}
            choose={(next) => {
              setDetector(next);
              choose(null);
            }}
          />
        )}
        <TracePlot
          trace={trace}
          overlay={overlay}
          detector={Number(detector)}
          chosen={chosen}
          choose={choose}
          ends={ends}
          moveEnd={moveEnd}
          show={show}
        />
        {trace.events.length > 0 && (
          <p class="soft small trace-events">
            <span class="key-valve">{texts.events}</span>
            {trace.events.map((event) => (
              <span key={`${event.at_s} ${event.action}`}>
                {formatted({ value: event.at_s, unit: "s", decimals: 1 })} {event.action}
              </span>
            ))}
          </p>
        )}
      </section>
      {chosen && (
        <HandPanel
          key={chosen.apex_s}
          trace={trace}
          near={near}
          peak={chosen}
          ends={ends}
          hand={hand}
          problem={problem}
          kept={kept}
          begin={begin}
          moveEnd={moveEnd}
          away={() => choose(chosen)}
          keep={keep}
          undo={undo}
        />
      )}
      <section class="sheet">
        <header>
          <h2>{texts.peaks}</h2>
          <span class="soft">{texts.choose}</span>
        </header>
        <PeakTable
          trace={trace}
          detector={Number(detector)}
          chosen={chosen}
          choose={(peak) => choose(peak, true)}
          decisions={decisions}
        />
        <p class="soft small">{texts.area}</p>
        {trace.warnings.map((warning) => (
          <p key={warning} class="soft small">
            {warning}
          </p>
        ))}
        <fieldset class="buttons">
          <legend class="unseen">{texts.export}</legend>
          {texts.exports.map(([format, says]) => (
            <a
              key={format}
              class="button"
              href={traceExport(trace.id, format)}
              download={`${trace.name}.${format}`}
            >
              {says}
            </a>
          ))}
        </fieldset>
      </section>
    </>
  );
}
