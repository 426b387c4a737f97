/** A car's job card, to print and lay into it: its number large, and a code that opens it on a phone. */
import { QrCode } from "../../parts/qr-code.tsx";
import { useWords } from "../../parts/words-context.ts";
import { NoSuch } from "../coats/no-such.tsx";
import { ActionButton, Page } from "../core/parts.tsx";
import { useShell } from "../core/shell.tsx";
import { CardSwatch } from "./card-swatch.tsx";
import "./card.css";

/** Lines to write on by hand when no phone is at hand. */
const emptyLines = 6;

export function CardPage({ carId }: { carId: string }) {
  const { cars } = useShell();
  const words = useWords();
  const car = cars?.cars.find(({ id }) => id === carId);
  if (car === undefined) return <NoSuch isLoading={cars === null} />;
  const address = `${cars?.shop.address ?? location.origin}/cars/${car.id}`;
  return (
    <Page
      title={words.t("card.title")}
      back={`/cars/${car.id}`}
      actions={
        <ActionButton kind="main" onClick={() => print()}>
          {words.t("card.print")}
        </ActionButton>
      }
    >
      <article class="job-card">
        <header>
          <div>
            <h2>{car.job}</h2>
            <p>{car.name}</p>
            {car.colour !== null && <CardSwatch colour={car.colour} />}
          </div>
          <div class="job-code">
            <QrCode address={address} label={words.t("card.code")} modulePx={4} />
          </div>
        </header>
        <p>{car.panels.map(({ name }) => words.named("panel", name)).join(", ")}</p>
        <table>
          <thead>
            <tr>
              <th scope="col">{words.t("card.coat")}</th>
              <th scope="col">{words.t("card.finished")}</th>
              <th scope="col">{words.t("card.place")}</th>
              <th scope="col">{words.t("card.who")}</th>
            </tr>
          </thead>
          <tbody>
            {Array.from({ length: emptyLines }, (_, line) => (
              <tr key={line}>
                <td />
                <td />
                <td />
                <td />
              </tr>
            ))}
          </tbody>
        </table>
        <p class="job-caution">{words.t("caution.ready")}</p>
        <p class="job-address">{address}</p>
        {cars?.shop.invented === true && <p class="job-caution">{words.t("page.invented")}</p>}
      </article>
    </Page>
  );
}
