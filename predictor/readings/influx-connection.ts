/** Requests to InfluxDB by its 1.x API: answered whole, or StoreAway with where and why. */
import { FieldType, InfluxDB, type IPoint, type ISchemaOptions } from "influx";
import { StoreAway } from "./store.ts";

export interface InfluxAddress {
  /** Such as http://127.0.0.1:8086, without name and password. */
  url: string;
  database: string;
  username?: string;
  password?: string;
  /** Told what InfluxDB says when it drops readings that are older than its own retention policy allows. */
  onDropped?: (message: string) => void;
}

const tags = ["shop", "collector", "sensor", "quantity"];
const { FLOAT, INTEGER, STRING } = FieldType;
/** docs/influxdb.md says what they hold. */
const measurements: ISchemaOptions[] = [
  { measurement: "readings", tags, fields: { value: FLOAT, bad: FLOAT, mark: STRING } },
  { measurement: "five_minutes", tags, fields: { count: INTEGER, min: FLOAT, max: FLOAT, mean: FLOAT } },
];

/** Rows of one series, or of a whole answer where it is not grouped: time in UTC milliseconds, then what was asked for. */
export interface Group {
  tags: Readonly<Record<string, string>>;
  rows: readonly (readonly unknown[])[];
}

interface RawAnswer {
  results: {
    error?: string;
    partial?: boolean;
    series?: { tags?: Record<string, string>; values: unknown[][]; partial?: boolean }[];
  }[];
}

/** A request without an answer is given up after this long. Assumed. */
const answerWithinMs = 30_000;
/** One that is being answered, after this long: the client itself does not notice when an answer is cut off. */
const answeredWithinMs = 60_000;
const pointsAWrite = 5_000;

export class InfluxConnection {
  readonly #client: InfluxDB;
  readonly #address: InfluxAddress;

  constructor(address: InfluxAddress) {
    const { hostname, port, protocol, pathname } = new URL(address.url);
    const scheme = protocol === "https:" ? "https" : "http";
    this.#address = address;
    this.#client = new InfluxDB({
      host: hostname,
      port: port === "" ? (scheme === "https" ? 443 : 80) : Number(port),
      protocol: scheme,
      path: pathname.replace(/\/+$/, ""),
      database: address.database,
      // The client would send a name of its own choice where there is none.
      username: address.username ?? "",
      password: address.password ?? "",
      schema: measurements,
      pool: { maxRetries: 1, requestTimeout: answerWithinMs, backoff: neverShut },
    });
  }

  /** Makes the database where it is absent. */
  async open(): Promise<void> {
    try {
      await this.ask(() => ["SELECT value FROM readings LIMIT 1"]);
    } catch (error) {
      if (!/database not found/.test((error as Error).message)) throw error;
      await this.#answered(this.#client.createDatabase(this.#address.database));
    }
  }

  /** Answers of statements that are run one after another; `bind` gives what stands for a text in them. */
  async ask(statements: (bind: (text: string) => string) => readonly string[]): Promise<Group[][]> {
    const placeholders: Record<string, string> = {};
    const bind = (text: string) => {
      const name = `p${Object.keys(placeholders).length}`;
      placeholders[name] = text;
      return `$${name}`;
    };
    const query = [...statements(bind)];
    const asked = this.#client.queryRaw(query, { precision: "ms", placeholders, method: "POST" });
    const { results } = (await this.#answered(asked)) as RawAnswer;
    // Statements after one that failed say no more than that they were not executed.
    const errors = results.flatMap(({ error }) => error ?? []);
    const error = errors.find((one) => one !== "not executed") ?? errors[0];
    if (error !== undefined) throw this.#away(error);
    return results.map(({ partial, series = [] }) => {
      if (partial === true || series.some((one) => one.partial === true)) {
        throw this.#away("it cut its answer short: set max-row-limit = 0 in its configuration");
      }
      return series.map((one) => ({ tags: one.tags ?? {}, rows: one.values }));
    });
  }

  /** Writes points: they are in InfluxDB's write-ahead log when this returns, but for those that it drops by its own retention policy. */
  async write(points: readonly IPoint[]): Promise<void> {
    for (let from = 0; from < points.length; from += pointsAWrite) {
      const some = points.slice(from, from + pointsAWrite);
      try {
        await this.#answered(this.#client.writePoints(some, { precision: "ms" }));
      } catch (error) {
        const { message } = error as Error;
        // The others of them are written.
        if (!/points beyond retention policy/.test(message)) throw error;
        this.#address.onDropped?.(message);
      }
    }
  }

  async #answered<T>(request: Promise<T>): Promise<T> {
    let timer: NodeJS.Timeout | undefined;
    const late = new Promise<never>((_, reject) => {
      timer = setTimeout(() => reject(new Error("its answer was cut off")), answeredWithinMs);
    });
    try {
      return await Promise.race([request, late]);
    } catch (error) {
      throw this.#away(reasonOf(error as Error));
    } finally {
      clearTimeout(timer);
    }
  }

  #away(reason: string): StoreAway {
    const { url, database } = this.#address;
    return new StoreAway(`InfluxDB at ${url}, database ${database}: ${reason}`);
  }
}

/** Without the request, which holds the password. */
function reasonOf(error: Error & { code?: string }): string {
  const message = error.message || error.code || "it does not answer";
  if (/ECONNREFUSED|EHOSTUNREACH|ENETUNREACH|ENOTFOUND|EAI_AGAIN/.test(error.code ?? message)) {
    return `it can't be reached (${error.code ?? message}): see whether it runs, and its address in the shop file`;
  }
  if (/A 40[13] /.test(message)) return `it refuses the name or password: see store.credentialsFile (${message})`;
  return message;
}

/** The client would shut a host that failed out for a while; when to ask again is decided elsewhere. */
const neverShut = { getDelay: () => 0, next: () => neverShut, reset: () => neverShut };
