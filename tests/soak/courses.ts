/** How far each live coat has cured, as the program says it. */
import { setTimeout as delay } from "node:timers/promises";
import type { Cars, CoatCourse, CoatView } from "../../predictor/serve/api.ts";

/** By coat: its cure and its panel's temperature at each point of its course. */
export type Courses = Map<string, Pick<CoatCourse, "at" | "curePercent" | "followedPanelC">>;

const patienceMs = 120_000;

/** Waits for the program and until no coat is pending. */
export async function coursesOf(address: string): Promise<Courses> {
  const untilMs = performance.now() + patienceMs;
  for (;;) {
    try {
      const { cars } = await get<Cars>(`${address}/api/cars`);
      const courses: Courses = new Map();
      for (const { id } of cars.flatMap(({ coats }) => coats)) {
        // Of one that is still being followed anew the answer waits.
        await get<CoatView>(`${address}/api/coats/${id}`);
        const { at, curePercent, followedPanelC } = await get<CoatCourse>(
          `${address}/api/coats/${id}/course?points=2000`,
        );
        courses.set(id, { at, curePercent, followedPanelC });
      }
      return courses;
    } catch (error) {
      if (performance.now() > untilMs) throw error;
      await delay(200);
    }
  }
}

/** In words, for each coat of which the two say something else. */
export function differing(one: Courses, other: Courses): string[] {
  const ids = [...new Set([...one.keys(), ...other.keys()])];
  return ids.flatMap((id) => {
    const [a, b] = [one.get(id), other.get(id)];
    if (a === undefined || b === undefined) return [`coat ${id} is known to one only`];
    if (a.at.length !== b.at.length) return [`coat ${id}: ${a.at.length} points, then ${b.at.length}`];
    const index = a.at.findIndex(
      (at, n) => at !== b.at[n] || a.curePercent[n] !== b.curePercent[n] || a.followedPanelC[n] !== b.followedPanelC[n],
    );
    const said = ({ at, curePercent, followedPanelC }: typeof a) =>
      `${at[index]} ${curePercent[index]} % ${followedPanelC[index]} °C`;
    return index < 0 ? [] : [`coat ${id}: ${said(a)}, then ${said(b)}`];
  });
}

async function get<T>(url: string): Promise<T> {
  const response = await fetch(url, { signal: AbortSignal.timeout(30_000) });
  if (!response.ok) throw new Error(`${url}: ${response.status}`);
  return (await response.json()) as T;
}
