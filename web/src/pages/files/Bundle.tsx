// A bundle that somebody sent: checked against itself, its signatures told, taken in when asked.
import { useEffect, useState } from "preact/hooks";
import { address, upload } from "../../api/client";
import type { BundleLooked } from "../../api/types";
import { saidOf } from "../../lib/problem";
import { settings } from "../../shell/settings";
import { filesTexts } from "../../texts/files";
import { signTexts } from "../../texts/sign";

const texts = filesTexts.bundle;

export function Bundle({ file }: { file: File }) {
  const [looked, setLooked] = useState<BundleLooked | null>(null);
  const [problem, setProblem] = useState<string | null>(null);
  const send = async (keep: boolean) => {
    const query = { name: file.name, by: settings.get().name, keep: keep ? "yes" : null };
    const answer = await upload<BundleLooked>(address("/api/v1/bundles", query), file);
    setProblem(answer.problem && saidOf(answer.problem));
    if (answer.data) setLooked(answer.data);
  };
  useEffect(() => {
    send(false);
  }, [file]);
  if (problem)
    return (
      <p class="wrong" role="alert">
        {problem}
      </p>
    );
  if (!looked) return <p class="soft">{texts.looking}</p>;
  return (
    <div class="column tight">
      <p class={looked.intact ? "is-meets" : "wrong"} role="status">
        {looked.first_bad
          ? texts.bad(looked.first_bad.file, looked.first_bad.what)
          : texts.intact(looked.visit ?? "")}
      </p>
      <ul>
        {looked.signatures.map((signature) => (
          <li key={signature.entry}>
            {texts.signed(signature.signer, signature.title)},{" "}
            {signature.valid ? signTexts.valid : signTexts.invalid}
          </li>
        ))}
        {looked.untrusted_because.map((why) => (
          <li key={why} class="soft">
            {why}
          </li>
        ))}
      </ul>
      {looked.imported ? (
        <p>
          {texts.kept(looked.imported.added, looked.imported.known)}{" "}
          <a href={`/visit/${encodeURIComponent(looked.imported.visit)}`}>{texts.open}</a>
        </p>
      ) : (
        looked.intact && (
          <button type="button" class="main" onClick={() => send(true)}>
            {texts.keep}
          </button>
        )
      )}
    </div>
  );
}
