/** Work that must not overlap. */
export type InTurn = <T>(work: () => Promise<T>) => Promise<T>;

/** Runs what is given to it one after another, whatever becomes of each. */
export function oneAfterAnother(): InTurn {
  let last: Promise<unknown> = Promise.resolve();
  return (work) => {
    const next = last.then(work, work);
    last = next.catch(() => undefined);
    return next;
  };
}
