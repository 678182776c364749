import type { Visit } from "../../api/types";
import { formatted } from "../../lib/format";

export function Suspects({ visit }: { visit: Visit }) {
  const { suspects, misstated } = visit;
  return (
    <section class="sheet suspects" aria-labelledby="suspects-title">
      <header>
        <h2 id="suspects-title">What its first report pointed to</h2>
      </header>
      {suspects.length === 0 ? (
        <p class="soft">Its printed report alone raises no suspicion.</p>
      ) : (
        <ol>
          {suspects.map((suspect) => (
            <li key={suspect.id}>
              <h3>{suspect.title}</h3>
              {suspect.because.map((reason) => (
                <p class="soft small" key={reason}>
                  {reason}
                </p>
              ))}
              <p class="small">To settle it: {suspect.confirm}</p>
            </li>
          ))}
        </ol>
      )}
      {misstated.value !== null && (
        <p>
          As found it {misstated.value > 0 ? "left out" : "added"} about{" "}
          <b>{formatted({ value: Math.abs(misstated.value), unit: misstated.unit, decimals: 0 })}</b>.
        </p>
      )}
    </section>
  );
}
