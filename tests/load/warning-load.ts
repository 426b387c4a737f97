/**
 * npm run -s warning-load -- [--seed 1] [--days 28]: a simulated month of warnings, and the figures of docs/warnings.md. Ends
 * with 1 where a bound is broken, something was not told in time, or a month made nothing happen that a rule is judged by.
 */
import { parseArgs } from "node:util";
import { judged } from "./facts.ts";
import { simulate } from "./month.ts";

const { values } = parseArgs({
  options: { seed: { type: "string", default: "1" }, days: { type: "string", default: "28" } },
});
const account = await simulate({ seed: Number(values.seed), days: Number(values.days) });
const { averagePerTenMinutes, mostInTenMinutes, facts, missed } = account;
console.log(`seed ${account.seed}, ${account.days} days, ${account.workingMinutes} working minutes`);
for (const [rule, count] of Object.entries(account.raised).sort(([, a], [, b]) => b - a)) {
  console.log(`  ${String(count).padStart(5)}  ${rule}`);
}
console.log(`reached each person: ${account.notices}, of them gathered: ${account.gathered}`);
console.log(`in ten minutes of work, on average: ${averagePerTenMinutes.toFixed(2)} (under 1)`);
console.log(`most in any ten minutes: ${mostInTenMinutes} (10)`);
const mattered = Object.values(facts).reduce((sum, count) => sum + count, 0);
console.log(`facts that mattered: ${mattered}, ${JSON.stringify(facts)}; not told in time: ${missed.length}`);
for (const fact of missed) console.log(`  MISSED  ${fact}`);
const unjudged = account.days < 28 ? [] : judged.filter((rule) => facts[rule] === undefined);
if (unjudged.length > 0) console.log(`  NOT JUDGED, since nothing happened  ${unjudged.join(", ")}`);
const holds = averagePerTenMinutes < 1 && mostInTenMinutes <= 10 && missed.length === 0 && unjudged.length === 0;
process.exitCode = holds ? 0 : 1;
