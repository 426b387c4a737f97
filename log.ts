/** The log of every part: lines of JSON on standard error, which the system keeps and turns over. */
import { type DestinationStream, type Logger, pino } from "pino";

/** What must not stand in a log, should an error or a message bring it along. */
const secrets = ["pin", "password", "token", "session", "cookie", "authorization", "headers", "body"];

/** `level` is one of pino's: trace, debug, info, warn, error, silent. Throws where it is none. */
export function openLog(level = "info", destination: DestinationStream = pino.destination(2)): Logger {
  const paths = secrets.flatMap((name) => [name, `*.${name}`, `*.*.${name}`]);
  return pino({ name: "coatclock", level, redact: { paths, censor: "(secret)" } }, destination);
}
