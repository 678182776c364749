// One name under one statement: which, by whose key, with what reserved.
import { useEffect, useState } from "preact/hooks";
import { get, post } from "../../api/client";
import type { JudgedVisit, Key, Keys, SignatureShown, SignedVisit, Standing } from "../../api/types";
import { saidOf } from "../../lib/problem";
import { standsAgainst } from "../../lib/visit";
import { Choices } from "../../parts/Choices";
import { Dialog } from "../../shell/Dialog";
import { settings } from "../../shell/settings";
import { say } from "../../shell/toast";
import { signTexts as texts } from "../../texts/sign";

type As = SignatureShown["statement"];

interface Props {
  visit: Standing;
  judged: JudgedVisit;
  close: () => void;
  signed: () => void;
}

function NewKey({ made, first }: { made: (key: Key) => void; first: boolean }) {
  const [name, setName] = useState(() => settings.get().name);
  const [one, setOne] = useState("");
  const [two, setTwo] = useState("");
  const [problem, setProblem] = useState<string | null>(null);
  const make = async () => {
    const answer = await post<Key>("/api/v1/keys", { name, passphrase: one });
    setProblem(answer.problem && saidOf(answer.problem));
    if (!answer.data) return;
    say(texts.made(answer.data.name));
    setOne("");
    setTwo("");
    made(answer.data);
  };
  const differ = two !== "" && one !== two;
  return (
    <details open={first}>
      <summary>{texts.newKey}</summary>
      <div class="column tight">
        <div class="fields">
          <label>
            <span>{texts.name}</span>
            <input value={name} maxLength={80} onInput={(event) => setName(event.currentTarget.value)} />
          </label>
          <label>
            <span>{texts.passphrase}</span>
            <input
              type="password"
              autocomplete="new-password"
              value={one}
              onInput={(event) => setOne(event.currentTarget.value)}
            />
          </label>
          <label>
            <span>{texts.again}</span>
            <input
              type="password"
              autocomplete="new-password"
              value={two}
              aria-invalid={differ}
              onInput={(event) => setTwo(event.currentTarget.value)}
            />
          </label>
        </div>
        <p class="soft small">{texts.passphraseSays}</p>
        {(differ || problem) && (
          <p class="wrong" role="alert">
            {differ ? texts.differ : problem}
          </p>
        )}
        <button type="button" disabled={name.trim() === "" || one.length < 8 || one !== two} onClick={make}>
          {texts.make}
        </button>
      </div>
    </details>
  );
}

export function SignDialog({ visit, judged, close, signed }: Props) {
  const may = (as: As) => (as === "work" || as === "conformity" ? judged.may_sign[as] : true);
  const [as, setAs] = useState<As>(
    judged.may_sign.work ? "work" : judged.may_sign.conformity ? "conformity" : "review",
  );
  const [keys, setKeys] = useState<Key[] | null>(null);
  const [key, setKey] = useState<string | null>(null);
  const [passphrase, setPassphrase] = useState("");
  const [reservation, setReservation] = useState("");
  const [problem, setProblem] = useState<string | null>(null);
  const [busy, setBusy] = useState(false);
  const ask = (chosen?: string) => {
    get<Keys>("/api/v1/keys").then(({ data }) => {
      const all = data?.keys ?? [];
      setKeys(all);
      const own = all.find((each) => each.name === settings.get().name);
      setKey(chosen ?? own?.fingerprint ?? all[0]?.fingerprint ?? null);
    });
  };
  useEffect(() => ask(), []);
  const sign = async (event: Event) => {
    event.preventDefault();
    setBusy(true);
    const answer = await post<SignedVisit>(`/api/v1/visits/${encodeURIComponent(visit.visit)}/sign`, {
      key,
      passphrase,
      as,
      reservations: reservation.trim() === "" ? [] : [reservation],
      seen: visit.last_entry,
    });
    setBusy(false);
    setPassphrase("");
    if (!answer.data) {
      setProblem(answer.problem.where === "seen" ? texts.grown : saidOf(answer.problem));
      return;
    }
    say(texts.done(texts.statements[as], answer.data.signature.signer));
    signed();
    close();
  };
  const against = as === "work" || as === "conformity" ? standsAgainst(judged.ledger, as).length : 0;
  return (
    <Dialog title={texts.title} onClose={close} wide>
      <form class="column tight" onSubmit={sign}>
        <Choices
          legend={texts.what}
          choices={(["work", "conformity", "witness", "review"] as const).map(
            (each) => [each, texts.statements[each]] as const,
          )}
          chosen={as}
          choose={setAs}
        />
        {!may(as) && <p class="wrong">{texts.notYet(against)}</p>}
        <p class="soft">{texts.covers}</p>
        {judged.ledger.length > 0 && (
          <details>
            <summary>{texts.listed(judged.ledger.length)}</summary>
            <ul>
              {judged.ledger.map((line) => (
                <li key={`${line.what} ${line.why}`}>
                  {line.what}: {line.why}
                </li>
              ))}
            </ul>
          </details>
        )}
        {keys && keys.length > 0 && (
          <div class="fields">
            <label>
              <span>{texts.who}</span>
              <select value={key ?? ""} onChange={(event) => setKey(event.currentTarget.value)}>
                {keys.map((each) => (
                  <option key={each.fingerprint} value={each.fingerprint}>
                    {each.name}, {each.fingerprint.slice(0, 12)}
                  </option>
                ))}
              </select>
            </label>
            <label>
              <span>{texts.passphrase}</span>
              <input
                type="password"
                autocomplete="off"
                value={passphrase}
                onInput={(event) => setPassphrase(event.currentTarget.value)}
              />
            </label>
            <label>
              <span>{texts.reservation}</span>
              <input value={reservation} onInput={(event) => setReservation(event.currentTarget.value)} />
            </label>
          </div>
        )}
        {problem && (
          <p class="wrong" role="alert">
            {problem}
          </p>
        )}
        <button type="submit" class="main" disabled={busy || !may(as) || key === null || passphrase === ""}>
          {texts.sign}
        </button>
      </form>
      {keys && <NewKey key={keys.length} first={keys.length === 0} made={(next) => ask(next.fingerprint)} />}
    </Dialog>
  );
}
