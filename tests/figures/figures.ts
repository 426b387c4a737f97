/** The figures of docs/model.md by file name, each drawn from what the model's code gives. */
import { coldFigure } from "./cold-figure.ts";
import { glassFigure } from "./glass-figure.ts";
import { hoursFigure } from "./hours-figure.ts";
import { lessonFigure } from "./lesson-figure.ts";
import { sheetFigure } from "./sheet-figure.ts";

export const figures: Readonly<Record<string, () => string>> = {
  "model-sheet.svg": sheetFigure,
  "model-cold-afternoon.svg": coldFigure,
  "model-lesson.svg": lessonFigure,
  "model-hours-ahead.svg": hoursFigure,
  "model-glass.svg": glassFigure,
};
