/** The quality lead and one coat's file: from its deviations to its release and its certificate. */
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { axeFindings } from "./browser.ts";
import { type Desks, openDesks, total } from "./desk-hands.ts";

let desks: Desks;
beforeAll(async () => {
  desks = await openDesks();
}, 60_000);
afterAll(async () => {
  await desks?.close();
});

describe("a coat's file", () => {
  it("goes from its deviations to a release, a hold, and open again", async () => {
    await desks.at("/log/coat-1", async ({ page, t }) => {
      const button = (name: string) => page.getByRole("button", { name, exact: true });
      // Refused while a deviation is open, whatever was typed.
      await button(t("file.meaning-delivery")).click();
      await page.getByText(/2 of its deviations are not answered/).waitFor();
      expect(await button(t("file.release")).isDisabled()).toBe(true);
      for (const code of ["gap", "sprayed-outside-limits"] as const) {
        await page
          .getByLabel(t("file.answer-to", { deviation: t(`deviation.${code}`) }))
          .fill("sensor was off, panel warm");
        await page
          .locator("li.is-open")
          .first()
          .getByRole("button", { name: t("file.answer") })
          .click();
        await page
          .locator("li.is-answered", { hasText: "sensor was off" })
          .nth(code === "gap" ? 0 : 1)
          .waitFor();
      }
      await button(t("file.release")).click();
      await page
        .getByRole("status")
        .filter({ hasText: t("log.state-released") })
        .waitFor();
      await page.getByText("“released for delivery”, Quality A (quality lead)").waitFor();
      await page.getByText(/isocyanate/).waitFor();
      await page.getByText("Released: released for delivery").waitFor();

      await page.getByText(t("file.hold-released")).click();
      await page.getByLabel(t("file.reason")).first().fill("runs under the lamp");
      await button(t("file.hold")).click();
      await page
        .getByRole("status")
        .filter({ hasText: t("log.state-held") })
        .waitFor();
      expect(await button(t("file.release")).count()).toBe(0);

      await page.getByText(t("file.reopen-open"), { exact: true }).first().click();
      await page.getByLabel(t("file.reason")).fill("polished out");
      await button(t("file.reopen")).click();
      await page
        .getByRole("status")
        .filter({ hasText: t("log.state-ready") })
        .waitFor();
      await page.getByText("Opened again: polished out").waitFor();
    });
  });

  it("keeps what was typed when it is not recorded, and says why", async () => {
    await desks.at(
      "/log/coat-2",
      async ({ page, log, t }) => {
        await page.getByText(t("file.hold-released")).click();
        const field = page.getByLabel(t("file.reason")).first();
        await field.fill("dust in the clear");
        log.files.length = 0;
        await page.getByRole("button", { name: t("file.hold"), exact: true }).click();
        await page.getByRole("alert").getByText("There is no coat coat-2.").waitFor();
        expect(await field.inputValue()).toBe("dust in the clear");
      },
      { isRefused: true },
    );
  });

  it("makes a certificate, and leads to its PDF and its file", async () => {
    await desks.at("/log/coat-2", async ({ page, log, t }) => {
      await page.getByText(t("file.no-certificate")).waitFor();
      await page.getByRole("button", { name: t("file.certificate-make") }).click();
      const print = page.getByRole("link", { name: t("file.certificate-print") });
      await print.waitFor();
      const digest = log.files[2]?.certificates[0]?.digest;
      expect(await print.getAttribute("href")).toBe(`/api/certificates/${digest}/print`);
      const file = page.getByRole("link", { name: t("file.certificate-file") });
      expect(await file.getAttribute("href")).toBe(`/api/certificates/${digest}/file`);
      await page
        .locator(".file-certificates")
        .getByText(/Quality A, .* 1 coat/)
        .waitFor();
      await page.getByRole("button", { name: t("file.certificate-car") }).click();
      await expect.poll(() => print.count()).toBe(2);
      expect(await axeFindings(page)).toEqual([]);
    });
  });

  it("marks checks, the gap and warnings on the axis of rail and chart", async () => {
    await desks.at("/log/coat-1", async ({ page }) => {
      await page.locator(".chart-plot canvas").waitFor();
      expect(await page.locator(".band-gap").count()).toBe(1);
      expect(await page.locator(".band-place").count()).toBe(2);
      const strip = await page.locator(".strip svg").getAttribute("aria-label");
      expect(strip).toMatch(/not yet: sand; .* ready: sand; warning 1, /);
      // The rail and the plot of the chart stand on one axis.
      const rail = await page.locator(".rail svg").boundingBox();
      const plot = await page.locator(".u-over").boundingBox();
      expect(Math.abs((rail?.x ?? 0) - (plot?.x ?? 99))).toBeLessThanOrEqual(1);
      expect(Math.abs((rail?.width ?? 0) - (plot?.width ?? 99))).toBeLessThanOrEqual(1);
    });
  });

  it("tells whoever is not the quality lead for whom it is, and shows them no button", async () => {
    for (const role of ["painter", null] as const) {
      await desks.at(
        "/log/coat-1",
        async ({ page, t }) => {
          await page.getByText(t("file.for-whom", { roles: t("role.quality") })).waitFor();
          const signIn = page.locator(".verdict-box").getByRole("link", { name: t("shell.sign-in") });
          expect(await signIn.count()).toBe(role === null ? 1 : 0);
          expect(await page.getByRole("button").count()).toBe(0);
        },
        { role },
      );
    }
  });

  it("says that there is no such coat, and leads back", async () => {
    await desks.at(
      "/log/nothing",
      async ({ page, t }) => {
        await page.getByText("There is no coat nothing.").waitFor();
        await page.getByRole("link", { name: t("file.to-log") }).click();
        await total(page, "64 coats");
      },
      { isRefused: true },
    );
  });
});
