import { afterAll, beforeAll } from "vitest";
import { startInflux, type TestInflux } from "../../tests/influxd.ts";
import { storeSuite } from "../../tests/store-suite.ts";
import { openInfluxStore } from "./influx.ts";

let influx: TestInflux;
beforeAll(async () => {
  influx = await startInflux();
});
afterAll(() => influx.end());

let shops = 0;
storeSuite({
  open: () => openInfluxStore({ url: influx.url, database: "coatclock", shop: `shop-${shops}` }),
  // Another shop's place is an empty one.
  wipe: async () => {
    shops += 1;
  },
});
