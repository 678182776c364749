// What the visit leaves behind: who signed, the handover to read and to print, the bundle to give away.
import { useState } from "preact/hooks";
import { download } from "../../api/client";
import type { SignatureShown, Standing } from "../../api/types";
import { clock, day } from "../../lib/format";
import { saidOf } from "../../lib/problem";
import { complain, say } from "../../shell/toast";
import { signTexts as texts } from "../../texts/sign";

function One({ signature }: { signature: SignatureShown }) {
  return (
    <li>
      <b>{signature.title}</b>: {signature.signer}, {day(signature.at)}, {clock(signature.at)}
      <span class={signature.valid ? "is-meets" : "is-fails"}>
        {" "}
        {signature.valid ? texts.valid : `${texts.invalid}: ${signature.problem}`}
      </span>
      {signature.withdrawn && <b> {texts.withdrawn}</b>}
      {signature.of_earlier_state && <span class="is-unclear"> {texts.earlier(signature.later.length)}</span>}
      {signature.reservations.map((each) => (
        <p key={each} class="small">
          {each}
        </p>
      ))}
      <p class="soft small">
        {texts.fingerprint} {signature.key.slice(0, 32)}
      </p>
    </li>
  );
}

export function LeftBehind({ visit, signatures }: { visit: Standing; signatures: SignatureShown[] }) {
  const [busy, setBusy] = useState(false);
  const path = `/api/v1/visits/${encodeURIComponent(visit.visit)}`;
  const bundle = async () => {
    setBusy(true);
    const problem = await download(`${path}/bundle`, {}, `${visit.visit}.zip`);
    setBusy(false);
    if (problem) complain(saidOf(problem));
    else say(texts.handover.made);
  };
  return (
    <section class="sheet column tight" aria-labelledby="left-title">
      <h2 id="left-title">{texts.handover.title}</h2>
      <h3>{texts.signatures}</h3>
      {signatures.length === 0 && <p class="soft">{texts.none}</p>}
      {signatures.length > 0 && (
        <ul class="signatures">
          {signatures.map((signature) => (
            <One key={signature.entry} signature={signature} />
          ))}
        </ul>
      )}
      <div class="buttons">
        <a class="button" href={`${path}/handover.html`} target="_blank" rel="noopener">
          {texts.handover.read}
        </a>
        <a class="button" href={`${path}/handover.pdf`} target="_blank" rel="noopener">
          {texts.handover.pdf}
        </a>
        <button type="button" disabled={busy} onClick={bundle}>
          {texts.handover.bundle}
        </button>
      </div>
    </section>
  );
}
