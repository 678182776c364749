// One name under one statement: which, by whose key, with what reserved.

import { useEffect, useState } from "preact/hooks";
import { get, post } from "../../api/client";
import type { JudgedVisit, Key, Keys, SignatureShown, SignedVisit, Standing } from "../../api/types";
import { saidOf } from "../../lib/problem";
import { standsAgainst } from "../../lib/visit";
import { Choices } from "../../parts/Choices";
import { TextField } from "../../parts/TextField";
import { WrongWords } from "../../parts/Wrong";
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
          <TextField says={texts.name} value={name} set={setName} maxLength={80} />
          <TextField says={texts.passphrase} secret autocomplete="new-password" value={one} set={setOne} />
          <TextField
            says={texts.again}
            secret
            autocomplete="new-password"
            value={two}
            set={setTwo}
            wrong={differ}
          />
        </div>
        <p class="soft small">{texts.passphraseSays}</p>
        <WrongWords says={differ ? texts.differ : problem} />
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
            <TextField
              says={texts.passphrase}
              secret
              autocomplete="off"
              value={passphrase}
              set={setPassphrase}
            />
            <TextField says={texts.reservation} value={reservation} set={setReservation} />
          </div>
        )}
        <WrongWords says={problem} />
        <button type="submit" class="main" disabled={busy || !may(as) || key === null || passphrase === ""}>
          {texts.sign}
        </button>
      </form>
      {keys && <NewKey key={keys.length} first={keys.length === 0} made={(next) => ask(next.fingerprint)} />}
    </Dialog>
  );
}
