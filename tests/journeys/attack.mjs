// Somebody on this machine, or a page in the same browser, who should not: attack.mjs PROGRAM SCREENS.
// By plain sockets, so that no library corrects a crooked request. Exit code 0 when everything was refused and the
// record is as it was.
import { mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { connect } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { check, started, stopped, told } from "./browser.mjs";

const [program] = process.argv.slice(2);
const folder = mkdtempSync(join(tmpdir(), "gaswright-attack-"));
const store = join(folder, "record.db");

let port = 0;

// Sends bytes, answers all that comes back until the other side is done or falls silent.
function sent(head, body = "", { chunks = 1 } = {}) {
  return new Promise((resolve) => {
    const socket = connect(port, "127.0.0.1");
    let reply = "";
    const done = () => {
      socket.destroy();
      resolve({ status: Number(reply.split(" ")[1] ?? 0), reply });
    };
    socket.setTimeout(4000, done);
    socket.on("data", (bytes) => {
      reply += bytes.toString("latin1");
    });
    socket.on("close", done);
    socket.on("error", done);
    socket.write(head.replaceAll("\n", "\r\n"));
    for (let i = 0; i < chunks; i += 1) socket.write(body);
  });
}

const own = () => `Host: 127.0.0.1:${port}\nConnection: close\n`;
const get = (path, headers = own()) => sent(`GET ${path} HTTP/1.1\n${headers}\n`);
const post = (path, body, headers, type = "application/json") =>
  sent(`POST ${path} HTTP/1.1\n${headers}Content-Type: ${type}\nContent-Length: ${Buffer.byteLength(body)}\n\n`, body);

const { server, address } = await started(program, ["--store", store, "--by", "A. Person"]);
port = Number(new URL(address).port);
let code = 0;
try {
  const id = told(program, ["visit", "new", "--plan", "exchange", "--analyser", "PX-1", "--store", store]).visit;
  const before = told(program, ["store", "check", "--store", store]).head;

  // Before anybody is in.
  for (const path of ["/api/v1/start", `/api/v1/visits/${id}`, "/api/v1/keys", "/api/v1/nothing", "/api/v1/events"])
    check((await get(path)).status === 401, `no session, no answer: ${path}`);
  check((await get("/?ticket=guessed")).status === 401, "a guessed ticket opens nothing");
  const long = "x".repeat(200_000);
  check((await post("/api/v1/session", long, own())).status === 413, "a stranger's long body is refused unread");
  check(
    (await post(`/api/v1/visits/${id}/file?stage=a&step=b&as=file&name=c`, long, own(), "application/octet-stream")).status === 413,
    "even where a file may be long",
  );

  const way = new URL(address);
  const into = await get(way.pathname + way.search);
  const cookie = into.reply.match(/Set-Cookie: ([^;]+)/)?.[1];
  check(into.status === 303 && cookie, "the printed address opens the page");
  check(/HttpOnly; SameSite=Strict/.test(into.reply), "its cookie is kept from scripts and from other sites");
  check((await get(way.pathname + way.search)).status === 401, "the ticket opens nothing twice");
  const within = `${own()}Cookie: ${cookie}\n`;
  const acting = `${within}Origin: http://127.0.0.1:${port}\n`;
  check((await get("/api/v1/start", within)).status === 200, "with the cookie there are answers");
  check((await get("/api/v1/start", `${own()}Cookie: ${cookie}x\n`)).status === 401, "with a wrong one there are none");

  // Another name for this machine, another site in the same browser.
  for (const host of ["evil.example", `evil.example:${port}`, "127.0.0.1", `127.0.0.1:${port}.evil.example`, ""])
    check(
      (await get("/api/v1/start", `Host: ${host}\nConnection: close\nCookie: ${cookie}\n`)).status >= 400,
      `a foreign Host: "${host}"`,
    );
  const note = JSON.stringify({ stage: "prepare", step: "reason", value: "written from outside" });
  for (const origin of ["http://evil.example", "null", `https://127.0.0.1:${port}`, `http://localhost:${port}`])
    check(
      (await post(`/api/v1/visits/${id}/record`, note, `${within}Origin: ${origin}\n`)).status === 403,
      `a foreign Origin: ${origin}`,
    );
  check((await post(`/api/v1/visits/${id}/record`, note, within)).status === 403, "an act without Origin");
  check(
    (await post(`/api/v1/visits/${id}/record`, note, `${acting}Sec-Fetch-Site: cross-site\n`)).status === 403,
    "an act that the browser knows for another site's",
  );
  check(
    (await post(`/api/v1/visits/${id}/record`, `a=${note}`, acting, "application/x-www-form-urlencoded")).status === 400,
    "a form, which any site could send",
  );
  for (const method of ["PUT", "DELETE", "OPTIONS", "TRACE", "PATCH"])
    check((await sent(`${method} /api/v1/visits HTTP/1.1\n${within}\n`)).status === 405, `method ${method}`);

  // Out of its folders.
  for (const path of [
    "/../etc/passwd",
    "/%2e%2e/%2e%2e/etc/passwd",
    "/assets/..%2f..%2fetc/passwd",
    "//etc/passwd",
    "/assets\\..\\x",
    "/assets/%00",
    `/api/v1/visits/..%2f..%2f/evidence/x`,
    `/api/v1/visits/${id}/evidence/${"..%2f".repeat(6)}etc%2fpasswd`,
  ]) {
    const answer = await get(path, within);
    check(answer.status >= 400 && !answer.reply.includes("root:"), `out of its folders: ${path}`);
  }

  // Too much, and crooked.
  const large = Buffer.alloc(1 << 20, 0x41);
  const file = `/api/v1/visits/${id}/file?stage=prepare&step=reason&as=file&name=x`;
  check(
    (await sent(`POST ${file} HTTP/1.1\n${acting}Content-Length: ${80 * (1 << 20)}\n\n`, large, { chunks: 2 })).status === 413,
    "a file over 40 MB is refused by what it says of itself",
  );
  const piece = `${large.length.toString(16)}\r\n${large.toString("latin1")}\r\n`;
  check(
    (await sent(`POST ${file} HTTP/1.1\n${acting}Transfer-Encoding: chunked\n\n`, piece, { chunks: 70 })).status === 413,
    "and by what comes when it says nothing",
  );
  // Long ones that break off in the middle: each has its place for as long as it lasts, and leaves nothing.
  const halves = Array.from({ length: 3 }, () => connect(port, "127.0.0.1"));
  for (const socket of halves) {
    socket.on("error", () => {});
    socket.write(`POST ${file} HTTP/1.1\n${acting}Content-Length: ${38 * (1 << 20)}\n\n`.replaceAll("\n", "\r\n"));
    for (let i = 0; i < 8; i += 1) socket.write(large);
  }
  await new Promise((resolve) => setTimeout(resolve, 300));
  check(
    (await sent(`POST ${file} HTTP/1.1\n${acting}Content-Length: ${38 * (1 << 20)}\n\n`, large)).status === 503,
    "one more than all together may take is turned away before it is read",
  );
  for (const socket of halves) socket.destroy();
  await new Promise((resolve) => setTimeout(resolve, 300));
  check(
    readdirSync(folder).every((name) => name.startsWith("record.db")),
    "what broke off leaves no file",
  );
  check((await sent("GET / HTTP/1.1\nHost: a\nHost: b\n\n")).status === 400, "two Hosts");
  check((await sent(`GET /${"a".repeat(20_000)} HTTP/1.1\n${own()}\n`)).status >= 400, "an endless address");
  check((await sent("\x16\x03\x01\x00\xa5 not a request\n\n")).status === 400, "bytes that are no request");
  check(
    (await sent(`POST ${file} HTTP/1.1\n${acting}Content-Length: 5\nContent-Length: 9\n\n`, "12345")).status >= 400,
    "two lengths",
  );
  for (const body of ["{", "[]", '{"stage":"prepare"}', '{"stage":"prepare","step":"reason","value":7}', `{"stage":${"[".repeat(5000)}`])
    check((await post(`/api/v1/visits/${id}/record`, body, acting)).status === 400, `a crooked body: ${body.slice(0, 40)}`);
  for (const [as, bytes] of [
    ["run", "time_s,signal\n0,1\n0,2\n"],
    ["run", "\u0000\u0001\u0002"],
    ["file", ""],
  ])
    check(
      (await post(`/api/v1/visits/${id}/file?stage=as%20found&step=line%20gas%20as%20found&as=${as}&name=x.csv`, bytes, acting, "application/octet-stream")).status >= 400,
      `a crooked file as ${as}`,
    );
  check(
    (await post("/api/v1/bundles?name=x.zip&keep=yes", "PK\u0003\u0004 and then nothing", acting, "application/octet-stream")).reply.includes('"intact":false'),
    "a crooked bundle is said to be so",
  );

  const after = told(program, ["store", "check", "--store", store]);
  check(after.intact && after.head === before, "the record is as it was");
  check((await get("/api/v1/health", within)).status === 200, "and the program answers as before");
  const most = Number(readFileSync(`/proc/${server.pid}/status`, "utf8").match(/VmHWM:\s+(\d+)/)[1]) / 1024;
  check(most < 150, `and never held more than 150 MB: ${most.toFixed(0)} MB`);
} catch (fault) {
  console.error(`FAIL  ${fault.message}`);
  code = 1;
} finally {
  await stopped(server);
  rmSync(folder, { recursive: true, force: true });
}
process.exit(code);
