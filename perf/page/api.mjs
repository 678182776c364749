// The page's API without a browser, for figures: a program started on a record, a session, calls with their times.
import { readFileSync } from "node:fs";
import { started, stopped } from "../../tests/journeys/browser.mjs";

/** A program that is started, and asked. */
export async function opened(program, store) {
  const { server, address } = await started(program, ["--store", store, "--by", "A. Person"]);
  const { origin, searchParams } = new URL(address);
  let cookie = "";
  // body: an object goes as JSON, bytes as a file. Answers how long it took, the status and the data.
  const asked = async (path, body) => {
    const file = body instanceof Uint8Array;
    const began = performance.now();
    const answer = await fetch(`${origin}${path}`, {
      method: body === undefined ? "GET" : "POST",
      headers: { "Content-Type": file ? "application/octet-stream" : "application/json", Origin: origin, Cookie: cookie },
      body: body === undefined || file ? body : JSON.stringify(body),
      redirect: "manual",
    });
    const bytes = Buffer.from(await answer.arrayBuffer());
    const took = performance.now() - began;
    cookie ||= (answer.headers.get("set-cookie") ?? "").split(";")[0];
    const whole = answer.headers.get("content-type")?.startsWith("application/json") ? JSON.parse(bytes) : {};
    return { took, status: answer.status, bytes, data: whole.data ?? null, problem: whole.problem ?? null };
  };
  await asked("/api/v1/session", { ticket: searchParams.get("ticket") });
  // MB, now and at most; `anew`: the most from here on.
  const memory = () => {
    const status = readFileSync(`/proc/${server.pid}/status`, "utf8");
    const MB = (name) => Number(status.match(new RegExp(`${name}:\\s+(\\d+)`))[1]) / 1024;
    return { now: MB("VmRSS"), most: MB("VmHWM") };
  };
  return { asked, memory, pid: server.pid, close: () => stopped(server) };
}

/** "median 5 ms, slowest 9 ms of 12" */
export const spread = (list) => {
  const sorted = [...list].sort((a, b) => a - b);
  return `median ${sorted[sorted.length >> 1].toFixed(0)} ms, slowest ${sorted.at(-1).toFixed(0)} ms of ${list.length}`;
};
