/** How the overview on a wall display shares out its height: a track keeps its letters, and gives up rail, lines of coats and code first. */

/** Heights on a 1920×1080 drawing: what stands above and below the tracks, and what a track needs. */
const heights = { screen: 1080, head: 96, headWithCode: 138, axis: 32, warning: 134, oneLine: 72, coat: 114, rail: 28 };

/** How the drawing's height is shared out: heights in its pixels. */
export interface Room {
  /** How many coats a track shows. */
  coats: number;
  railPx: number;
  /** Whether the phones' code fits in the head without taking room from a track. */
  hasCode: boolean;
  /** Whether the warning has only one line. */
  oneLine: boolean;
}

/** For so many tracks on a page, with or without a warning under them. */
export function roomFor(tracks: number, isWarned: boolean): Room {
  const least = heights.coat + heights.rail;
  const trackPx = (head: number, warning: number) =>
    (heights.screen - head - heights.axis - (isWarned ? warning : 0)) / Math.max(1, tracks);
  const oneLine = trackPx(heights.head, heights.warning) < least;
  const warning = oneLine ? heights.oneLine : heights.warning;
  const hasCode = trackPx(heights.headWithCode, warning) >= least;
  const height = trackPx(hasCode ? heights.headWithCode : heights.head, warning);
  const coats = Math.max(1, Math.floor((height - heights.rail) / heights.coat));
  return { coats, railPx: Math.min(64, Math.floor(height - coats * heights.coat)), hasCode, oneLine };
}
