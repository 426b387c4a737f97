import { afterEach, expect, it, vi } from "vitest";
import { readMessage } from "../../words/message.ts";
import { catalogues } from "../../words/words.ts";
import { fetchTexts, pageWords } from "./page-words.ts";

const unknownShop = { timeZone: "UTC", units: { temperature: "C", clock: "24h" } } as const;

/** A page that was built with German texts alone. */
function page(fetch: (address: string) => Promise<Response>) {
  const querySelector = (asked: string) =>
    asked === 'link[rel="texts"][hreflang="de"]' ? { href: "http://shop.example/assets/wall-de-1.json" } : null;
  vi.stubGlobal("document", { querySelector });
  vi.stubGlobal("fetch", fetch);
}
afterEach(() => {
  vi.useRealTimers();
  vi.unstubAllGlobals();
});

it("asks for the page's texts until they come, once for all who want them, and writes by them", async () => {
  vi.useFakeTimers();
  const asked: string[] = [];
  const texts = {
    "page.answered": readMessage(catalogues.de["page.answered"], "de"),
    "stage.sand": readMessage(catalogues.de["stage.sand"], "de"),
  };
  page(async (address) => {
    asked.push(address);
    if (asked.length === 1) throw new TypeError("failed to fetch");
    return asked.length === 2 ? new Response("bad gateway", { status: 502 }) : Response.json(texts);
  });
  const settings = { language: "de", ...unknownShop } as const;
  const coming = Promise.all([fetchTexts("de"), fetchTexts("de")]);
  expect(() => pageWords(settings)).toThrow(/de/);
  await vi.advanceTimersByTimeAsync(10_000);
  await coming;
  expect(asked).toEqual(Array(3).fill("http://shop.example/assets/wall-de-1.json"));
  const words = pageWords(settings);
  expect(words.named("stage", "sand")).toBe(catalogues.de["stage.sand"]);
  expect(words.t("page.answered", { status: 502 })).toContain("502");
});

it("says that a page was built without a language", async () => {
  page(async () => Response.json({}));
  await expect(fetchTexts("en")).rejects.toThrow(/without its texts in en/);
});
