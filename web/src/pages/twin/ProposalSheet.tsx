import type { Proposal } from "../../api/types";
import { formatted } from "../../lib/format";
import { twinTexts as texts } from "../../texts/twin";

const seconds = (value: number, decimals = 2) => formatted({ value, unit: "s", decimals });

export function ProposalSheet({ proposal, takeOver }: { proposal: Proposal; takeOver: () => void }) {
  const { enter } = proposal;
  return (
    <section class="sheet column" aria-labelledby="proposal" aria-live="polite">
      <h2 id="proposal">{texts.proposal}</h2>
      <p class={proposal.clean ? "is-meets" : "is-unclear"}>
        <b>{proposal.clean ? texts.clean : texts.unclean}</b>
      </p>
      <ul class="proposal-says">
        {proposal.programme.map((event) => (
          <li key={`${event.action} ${event.at_s}`}>{event.sentence}</li>
        ))}
      </ul>
      <button type="button" class="main" onClick={takeOver}>
        {texts.take}
      </button>
      <h3>{texts.enter}</h3>
      <p class="soft small">{texts.enterSays(seconds(enter.time_step_s))}</p>
      <section class="scroll" tabIndex={0} aria-label={texts.enter}>
        <table>
          <thead>
            <tr>
              <th scope="col">{texts.peaks.peak}</th>
              <th scope="col">{texts.peaks.retention}</th>
              <th scope="col">{texts.peaks.on}</th>
              <th scope="col">{texts.peaks.off}</th>
            </tr>
          </thead>
          <tbody>
            {enter.peaks.map((peak) => (
              <tr key={`${peak.detector} ${peak.component}`}>
                <th scope="row">{peak.component}</th>
                <td>{seconds(peak.retention_s)}</td>
                <td>{seconds(peak.on_s)}</td>
                <td>{seconds(peak.off_s)}</td>
              </tr>
            ))}
            {enter.inhibits.map((inhibit) => (
              <tr key={inhibit.action}>
                <th scope="row" colSpan={2}>
                  {texts.inhibit}: {inhibit.action}
                </th>
                <td>{seconds(inhibit.from_s)}</td>
                <td>{seconds(inhibit.to_s)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
    </section>
  );
}
