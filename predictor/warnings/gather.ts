/** What holds in the shop: each fact once, in however many places it shows. Pure. */
import type { Condition, IsActive, Standing } from "./condition.ts";
import { conditionsOf, type Situation } from "./rules.ts";

/** The situations by place, the first place first. */
export function gather(situations: ReadonlyMap<string, Situation>, isActive: IsActive): Standing[] {
  const found = new Map<string, { condition: Condition; places: Set<string> }>();
  for (const [place, situation] of situations) {
    const keyIn = (key: string) => `${place}/${key}`;
    for (const condition of conditionsOf(situation, (key) => isActive(key) || isActive(keyIn(key)))) {
      const key = condition.isShared ? condition.key : keyIn(condition.key);
      const places = (found.get(key)?.places ?? new Set()).add(place);
      found.set(key, { condition: { ...condition, key }, places });
    }
  }
  return [...found.values()].map(({ condition, places }) => {
    const [first = "", ...others] = places;
    const { home } = condition;
    if (home === null || !others.includes(home)) return { ...condition, place: first, alsoAt: others };
    return { ...condition, place: home, alsoAt: [first, ...others.filter((place) => place !== home)] };
  });
}
