/** npm run warning-load [-- SEED [DAYS]]: a simulated month of warnings, and the figures of docs/warnings.md. Ends with 1 where a bound is broken. */
import { simulate } from "./month.ts";

const [seed = 1, days = 28] = process.argv.slice(2).map(Number);
const account = await simulate({ seed, days });
console.log(`seed ${account.seed}, ${account.days} days, ${account.workingMinutes} working minutes`);
for (const [rule, count] of Object.entries(account.raised).sort(([, a], [, b]) => b - a)) {
  console.log(`  ${String(count).padStart(5)}  ${rule}`);
}
console.log(`reached a person: ${account.notices}, of them gathered: ${account.gathered}`);
console.log(
  `in ten minutes of work: ${account.averagePerTenMinutes.toFixed(2)} on average (under 1), ${account.mostInTenMinutes} at most (10)`,
);
console.log(`facts that mattered: ${JSON.stringify(account.facts)}; nobody was told of ${account.missed.length}`);
for (const fact of account.missed) console.log(`  MISSED  ${fact}`);
const holds = account.averagePerTenMinutes < 1 && account.mostInTenMinutes <= 10 && account.missed.length === 0;
process.exitCode = holds ? 0 : 1;
