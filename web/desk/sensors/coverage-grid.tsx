/** Each cell is a day of one quantity of a place: filled to its share of the day from below, with the minutes as a number, and in words where one points or stands. */
import { useLayoutEffect, useRef, useState } from "preact/hooks";
import type { CoverageView } from "../../../predictor/serve/sensor-api.ts";
import type { Words } from "../../../words/words.ts";
import { useWords } from "../../parts/words-context.ts";
import { dayText, quantityText } from "./sensor-words.ts";

interface Cell {
  line: number;
  day: number;
}

export function CoverageGrid({ coverage }: { coverage: CoverageView }) {
  const words = useWords();
  const { days, lines } = coverage;
  const scroll = useRef<HTMLDivElement>(null);
  const grid = useRef<HTMLTableElement>(null);
  /** Where the keyboard stands: one cell of the grid can be tabbed to. */
  const [stand, setStand] = useState<Cell>({ line: 0, day: days.length - 1 });
  const [told, setTold] = useState<Cell | null>(null);
  // The newest days stand at the right, and are what one wants to see first.
  useLayoutEffect(() => {
    if (scroll.current !== null) scroll.current.scrollLeft = scroll.current.scrollWidth;
  }, []);
  const go = (event: KeyboardEvent) => {
    const step = steps[event.key];
    if (step === undefined) return;
    event.preventDefault();
    const { line, day } = step(stand, days.length);
    const next = { line: within(line, lines.length), day: within(day, days.length) };
    setStand(next);
    grid.current?.querySelector<HTMLElement>(`[data-cell="${next.line} ${next.day}"]`)?.focus();
  };
  return (
    <>
      <div class="desk-scroll" ref={scroll}>
        <table
          class="coverage"
          // biome-ignore lint/a11y/noNoninteractiveElementToInteractiveRole: a table whose cells are walked with the arrow keys is a grid
          role="grid"
          aria-labelledby="coverage"
          aria-describedby="coverage-keys"
          ref={grid}
          onKeyDown={go}
          onMouseLeave={() => setTold(null)}
        >
          <thead>
            <tr>
              <td />
              {days.map(({ date }, index) => (
                <th key={date} scope="col" aria-label={dayText(date, words)}>
                  {index === days.length - 1 ? words.t("sensors.today") : dayText(date, words, "column")}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {lines.map(({ place, quantity, minutes }, line) => (
              <tr key={`${place.id} ${quantity}`}>
                <th scope="row">
                  <span>{place.name}</span> {quantityText(quantity, words)}
                </th>
                {days.map(({ date, minutes: of }, day) => (
                  <td
                    key={date}
                    data-cell={`${line} ${day}`}
                    tabIndex={stand.line === line && stand.day === day ? 0 : -1}
                    aria-label={cellText(coverage, { line, day }, words)}
                    style={{ "--share": String(shareOf(minutes[day] ?? null, of)) }}
                    onFocus={() => {
                      setStand({ line, day });
                      setTold({ line, day });
                    }}
                    onMouseEnter={() => setTold({ line, day })}
                  >
                    {minutes[day] ?? "…"}
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <p class="coverage-told" aria-hidden="true">
        {told === null ? "" : cellText(coverage, told, words)}
      </p>
      <p class="hint" id="coverage-keys">
        {words.t("sensors.coverage-keys")}
      </p>
    </>
  );
}

const steps: Record<string, (from: Cell, days: number) => Cell> = {
  ArrowLeft: ({ line, day }) => ({ line, day: day - 1 }),
  ArrowRight: ({ line, day }) => ({ line, day: day + 1 }),
  ArrowUp: ({ line, day }) => ({ line: line - 1, day }),
  ArrowDown: ({ line, day }) => ({ line: line + 1, day }),
  Home: ({ line }) => ({ line, day: 0 }),
  End: ({ line }, days) => ({ line, day: days - 1 }),
};

const within = (index: number, count: number) => Math.min(Math.max(index, 0), count - 1);

/** Of a day of so many minutes; 0 while it is not known. */
const shareOf = (minutes: number | null, of: number) => (minutes === null || of === 0 ? 0 : minutes / of);

function cellText({ days, lines }: CoverageView, { line, day }: Cell, words: Words): string {
  const of = lines[line];
  const at = days[day];
  if (of === undefined || at === undefined) return "";
  const minutes = of.minutes[day] ?? null;
  const named = {
    line: words.t("sensors.coverage-line", { place: of.place.name, quantity: quantityText(of.quantity, words) }),
    day: dayText(at.date, words),
  };
  if (minutes === null) return words.t("sensors.coverage-uncounted", named);
  return words.t("sensors.coverage-cell", { ...named, minutes, of: at.minutes });
}
