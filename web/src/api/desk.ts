// What the places of the workbench ask: examples, look, sums, traces, twins, histories.
import { rowsOf } from "../lib/block";
import { type Answer, address, bytes, get, post, upload } from "./client";
import type {
  ColumnCharts,
  Examples,
  FactorPictures,
  FileText,
  HandPeak,
  HandRequest,
  History,
  Job,
  JobStarted,
  LookAnswer,
  LookRequest,
  PressureTaken,
  Problem,
  Proposal,
  Register,
  SumAnswer,
  SumSheet,
  Sums,
  TraceShown,
  Twin,
  TwinFitRequest,
  TwinRun,
  TypedPressure,
  VisitSettling,
} from "./types";

const part = encodeURIComponent;
type Signal = AbortSignal | null;

export const getExamples = () => get<Examples>("/api/v1/examples");
export const getExample = (name: string) => get<FileText>(`/api/v1/examples/${part(name)}`);

export const look = (request: LookRequest) => post<LookAnswer>("/api/v1/look", request);

export const getSums = () => get<Sums>("/api/v1/sums");
export interface SumGiven {
  inputs: Record<string, unknown>;
  show: Record<string, string>;
}
export const workSum = (name: string, given: SumGiven, signal: Signal) =>
  post<SumAnswer>(`/api/v1/sums/${part(name)}`, given, signal);
export const sumSheet = (name: string, given: SumGiven) =>
  post<SumSheet>(`/api/v1/sums/${part(name)}/sheet`, given);

export const openTrace = (name: string, file: Blob, rate_hz: string) =>
  upload<TraceShown>(address("/api/v1/traces", { name, rate_hz }), file);
export const getTrace = (id: string) => get<TraceShown>(`/api/v1/traces/${part(id)}`);
export const nameTrace = (id: string, method: string) =>
  post<TraceShown>(`/api/v1/traces/${part(id)}/names`, { method });
export const handPeak = (id: string, request: HandRequest, signal: Signal) =>
  post<HandPeak>(`/api/v1/traces/${part(id)}/hand`, request, signal);
export const handSheet = (id: string, request: HandRequest) =>
  post<FileText>(`/api/v1/traces/${part(id)}/hand/sheet`, request);
export const traceExport = (id: string, format: string) =>
  address(`/api/v1/traces/${part(id)}/export`, { format });

const noBlock: Problem = {
  code: "internal",
  what: "The program sent numbers that cannot be read.",
  where: "",
  mend: "Load the page again.",
};
async function block(path: string, rows: number, signal: Signal): Promise<Answer<Float64Array[]>> {
  const answer = await bytes(path, signal);
  if (answer.problem) return answer;
  const made = rowsOf(answer.data, rows);
  return made ? { data: made, problem: null } : { data: null, problem: noBlock };
}
interface Wanted {
  from: number;
  to: number;
  most: number;
}
/** Times, signals, baselines. */
export const traceStretch = (id: string, detector: number, { from, to, most }: Wanted, signal: Signal) =>
  block(
    address(`/api/v1/traces/${part(id)}/stretch`, {
      detector: String(detector),
      from: String(from),
      to: String(to),
      most: String(most),
    }),
    3,
    signal,
  );

export const openTwin = (method: string, gas: string) => post<Twin>("/api/v1/twins", { method, gas });
export type Moved = { at_s: number; action: string }[];
export const runTwin = (id: string, programme: Moved, signal: Signal) =>
  post<TwinRun>(`/api/v1/twins/${part(id)}/run`, { programme }, signal);
export const retimeTwin = (id: string, programme: Moved) =>
  post<Proposal>(`/api/v1/twins/${part(id)}/retime`, { programme });
export const twinSheet = (id: string, programme: Moved) =>
  post<FileText>(`/api/v1/twins/${part(id)}/sheet`, { programme });

export type Book = "own" | "invented";
export const getRegister = (book: Book) =>
  get<Register>(address("/api/v1/register", { book, within: "120" }));
export const openHistory = (name: string, file: Blob) =>
  upload<History>(address("/api/v1/histories", { name }), file);
export const analyserHistory = (analyser: string, book: Book) =>
  get<History>(address("/api/v1/history", { analyser, book }));
/** Times, values. */
export const historyStretch = (id: string, column: string, { from, to, most }: Wanted, signal: Signal) =>
  block(
    address(`/api/v1/histories/${part(id)}/stretch`, {
      column,
      from: String(from),
      to: String(to),
      most: String(most),
    }),
    2,
    signal,
  );
export const historyChart = (id: string, column: string, signal: Signal) =>
  get<ColumnCharts>(address(`/api/v1/histories/${part(id)}/chart`, { column }), signal);

export const getFactors = (visit: string, signal: Signal) =>
  get<FactorPictures>(`/api/v1/visits/${part(visit)}/factors`, signal);
export const getSettling = (visit: string, signal: Signal) =>
  get<VisitSettling>(`/api/v1/visits/${part(visit)}/settling`, signal);

export const cylinderPressure = (serial: string, typed: TypedPressure) =>
  post<PressureTaken>(`/api/v1/cylinders/${part(serial)}/pressure`, typed);

export const fitTwin = (id: string, request: TwinFitRequest) =>
  post<JobStarted>(`/api/v1/twins/${part(id)}/fit`, request);
export const getJob = (id: string, signal: Signal = null) => get<Job>(`/api/v1/jobs/${part(id)}`, signal);
export const stopJob = (id: string) => post<Job>(`/api/v1/jobs/${part(id)}/stop`, {});
