/** A car laid flat, whose panels are chosen with a finger. */
import type { Words } from "../../../words/words.ts";
import { isDrawn, type OutlinePart, outline, outlineHeight, outlineWidth } from "./outline.ts";
import "./cars.css";

interface Props {
  /** Those that can be chosen; the rest of the drawing is only drawn. */
  panels: readonly { name: string }[];
  chosen: readonly string[];
  onToggle(name: string): void;
  words: Words;
}

export function PanelOutline({ panels, chosen, onToggle, words }: Props) {
  const names = panels.map(({ name }) => name);
  const beside = names.filter((name) => !isDrawn(name));
  return (
    <fieldset class="outline">
      <legend class="unseen">{words.t("outline.label")}</legend>
      {names.some(isDrawn) && (
        <svg viewBox={`-2 -2 ${outlineWidth + 4} ${outlineHeight + 4}`}>
          <title>{words.t("outline.label")}</title>
          <defs>
            <pattern id="chosen-panel" width="9" height="9" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
              <rect class="hatch-ground" width="9" height="9" />
              <rect class="hatch-line" width="2" height="9" />
            </pattern>
          </defs>
          {outline.map((part) => (
            <Part
              key={part.name}
              part={part}
              isOffered={names.includes(part.name)}
              isChosen={chosen.includes(part.name)}
              onToggle={() => onToggle(part.name)}
              label={words.named("panel", part.name)}
            />
          ))}
        </svg>
      )}
      {beside.length > 0 && (
        <div class="chips">
          {beside.map((name) => (
            <button key={name} type="button" aria-pressed={chosen.includes(name)} onClick={() => onToggle(name)}>
              {words.named("panel", name)}
            </button>
          ))}
        </div>
      )}
    </fieldset>
  );
}

interface PartProps {
  part: OutlinePart;
  isOffered: boolean;
  isChosen: boolean;
  label: string;
  onToggle(): void;
}

function Part({ part, isOffered, isChosen, label, onToggle }: PartProps) {
  const { x, y, width, height } = part.box;
  if (!isOffered) return <path class="part part-not-here" d={part.path} />;
  const fontPx = width < narrowPx ? 9.5 : 13;
  const lines = linesOf(isChosen ? `✓ ${label}` : label, width, fontPx);
  const lineHeight = 1.15 * fontPx;
  const firstY = y + height / 2 + 0.38 * fontPx - ((lines.length - 1) * lineHeight) / 2;
  return (
    // biome-ignore lint/a11y/useSemanticElements: an input can't be a part of a drawing
    <g
      class={`part${isChosen ? " part-chosen" : ""}`}
      role="checkbox"
      aria-checked={isChosen}
      aria-label={label}
      tabIndex={0}
      onClick={onToggle}
      onKeyDown={(event) => {
        if (event.key !== " " && event.key !== "Enter") return;
        event.preventDefault();
        onToggle();
      }}
    >
      <rect class="part-touch" x={x} y={y} width={width} height={height} />
      <path d={part.path} />
      {lines.map((line, index) => (
        <text key={line} x={x + width / 2} y={firstY + index * lineHeight} text-anchor="middle" font-size={fontPx}>
          {line}
        </text>
      ))}
    </g>
  );
}

/** An average letter of the condensed font (measured on the widest of its fallbacks). */
const letterEm = 0.56;
/** In a part narrower than this the name is written smaller. */
const narrowPx = 60;

/** A long name on two or three lines, broken between words. */
function linesOf(label: string, width: number, fontPx: number): string[] {
  const most = Math.max(6, Math.floor((width - 6) / (letterEm * fontPx)));
  const lines: string[] = [];
  for (const word of label.split(" ")) {
    const last = lines.at(-1);
    if (last !== undefined && `${last} ${word}`.length <= most) lines[lines.length - 1] = `${last} ${word}`;
    else lines.push(word);
  }
  return lines;
}
