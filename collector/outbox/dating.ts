/** A held pack gets its instant. */

import { packDigest, type SenmlRecord } from "../readings.ts";
import type { WaitingPack } from "./outbox.ts";

/**
 * The pack with its base times on the wall clock, in a list; an empty list where `dated` gives no finite number. Times are in
 * seconds.
 */
export function datedPack<P extends WaitingPack>(
  pack: P,
  dated: (monotonicS: number) => number,
): (P & { boot: null })[] {
  const records: SenmlRecord[] = JSON.parse(pack.payload);
  const withInstant = records.map((record) => (record.bt === undefined ? record : { ...record, bt: dated(record.bt) }));
  if (!withInstant.every(({ bt }) => bt === undefined || Number.isFinite(bt))) return [];
  const payload = JSON.stringify(withInstant);
  return [{ ...pack, payload, digest: packDigest(Buffer.from(payload)), boot: null }];
}
