/** What a painter's thumb does on the pages of the phone, and the air that the places have meanwhile. */
import mqtt from "mqtt";
import type { Browser, BrowserContext, Page } from "playwright-core";
import { packOf, type Reading } from "../../collector/readings.ts";
import { type Language, type Words, wordsOf } from "../../words/words.ts";
import { phoneSize } from "./browser.ts";
import { pin } from "./program.ts";

export const minuteMs = 60_000;

export function wordsIn(language: Language, units: Parameters<typeof wordsOf>[0]["units"] = metric): Words {
  return wordsOf({ language, timeZone: "Etc/UTC", units });
}
const metric = { temperature: "C", clock: "24h" } as const;

/** A shop with four places, whose sensors the test holds in its hand. */
export function shopFileOf(shop: string, more = ""): string {
  const place = (id: string, kind: string, sheets: string) =>
    `${id}: { name: ${id[0]?.toUpperCase()}${id.slice(1)}, kind: ${kind}${sheets}, sensors: { air-temperature: hand/${id}, air-humidity: hand/${id}, panel-temperature: hand/${id} } }`;
  return `{ shop: ${shop}, name: Invented shop, invented: true, timeZone: Etc/UTC, trustClock: true, broker: { kind: embedded, port: 0 }${more},
    places: { ${place("booth", "booth", ", sheets: [demo-clear, demo-solvent-base, demo-sealer]")},
      ${place("prep", "prep", ", sheets: [demo-surfacer, demo-pretreat]")}, ${place("workshop", "workshop", "")} },
    collectors: { hand: { elsewhere: true, sensors: [booth, prep, workshop] } } }`;
}

export interface Air {
  /** Each minute from so long ago until now, in every place. */
  past(minutes: number, airC?: number, rhPercent?: number): Promise<void>;
  /** One reading now, in every place. */
  now(airC: number, rhPercent: number): Promise<void>;
  end(): Promise<void>;
}

export async function airOf(broker: string, shop: string): Promise<Air> {
  const client = await mqtt.connectAsync(broker, { protocolVersion: 4 });
  const places = ["booth", "prep", "workshop"];
  const at = (atMs: number, airC: number, rhPercent: number): Reading[] =>
    places.flatMap((sensor): Reading[] => [
      { sensor, quantity: "air-humidity", atMs, value: rhPercent },
      { sensor, quantity: "panel-temperature", atMs, value: airC },
      { sensor, quantity: "air-temperature", atMs, value: airC },
    ]);
  const send = async (readings: Reading[]) => {
    const topic = `coatclock/1/${shop}/readings/hand`;
    for (const place of places) {
      const pack = packOf(
        "hand",
        readings.filter(({ sensor }) => sensor === place),
      );
      await client.publishAsync(topic, JSON.stringify(pack), { qos: 1 });
    }
  };
  return {
    async past(minutes, airC = 20, rhPercent = 50) {
      const nowMs = Date.now();
      for (let from = minutes; from >= 0; from -= 60) {
        const these = Array.from({ length: Math.min(60, from + 1) }, (_, n) => from - n);
        await send(these.flatMap((ago) => at(nowMs - ago * minuteMs, airC, rhPercent)));
      }
    },
    now: (airC, rhPercent) => send(at(Date.now(), airC, rhPercent)),
    end: () => client.endAsync(true),
  };
}

export interface Phone {
  page: Page;
  context: BrowserContext;
  /** Script errors, and what the console complains of. */
  faults: string[];
  /** Taps so far. */
  taps(): number;
  /** Taps a button, a link or a part of the drawing by its name. */
  tap(name: string, role?: "button" | "link" | "checkbox" | "radio"): Promise<void>;
}

export async function openPhone(browser: Browser, address: string, viewport = phoneSize): Promise<Phone> {
  const context = await browser.newContext({ viewport, hasTouch: true });
  const page = await context.newPage();
  const faults: string[] = [];
  page.on("pageerror", (error) => faults.push(String(error)));
  page.on("console", (message) => {
    // What is refused or not reached is shown on the page; the console says it as well.
    if (message.type() === "error" && !/status of 4\d\d|ERR_INTERNET_DISCONNECTED|net::ERR/.test(message.text())) {
      faults.push(message.text());
    }
  });
  let taps = 0;
  await page.goto(address);
  return {
    page,
    context,
    faults,
    taps: () => taps,
    async tap(name, role = "button") {
      taps += 1;
      await page.getByRole(role, { name, exact: true }).first().tap();
    },
  };
}

/** Signs in by the pages, digit by digit. */
export async function signInBy({ page, tap }: Phone, words: Words, name: string, digits = pin): Promise<void> {
  await page.goto(new URL("/sign-in", page.url()).href);
  await tap(name);
  for (const digit of digits) await tap(digit);
  await tap(words.t("pin.done"));
  // Let in, or told why not.
  await Promise.race([
    page.waitForURL((url) => !url.pathname.startsWith("/sign-in")),
    page.getByRole("alert").first().waitFor(),
  ]);
}
