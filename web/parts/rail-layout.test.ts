import { describe, expect, it } from "vitest";
import { exampleCoat, exampleStage, minutes } from "./example-coat.ts";
import { exampleClock } from "./example-words.ts";
import { layoutRail } from "./rail-layout.ts";

const clock = exampleClock();
/** One pixel a second on an axis from minute 10 to minute 110. */
const scale = { fromMs: minutes(10), toMs: minutes(110), ticksMs: [] };
const room = { widthPx: 6000, labelCharPx: 10, bandCharPx: 10 };
const x = (minute: number) => (minute - 10) * 60;
const layout = (coat: Parameters<typeof layoutRail>[0], widthPx = room.widthPx) =>
  layoutRail(coat, scale, minutes(60), { ...room, widthPx }, clock);

describe("layoutRail", () => {
  it("lays tape from the finish, before the axis here, to now", () => {
    expect(layout(exampleCoat("1", []))).toMatchObject({ finishX: x(0), nowX: x(60) });
  });
  it("puts a stage's post at likely and the end of its tail at safe", () => {
    const { marks } = layout(exampleCoat("1", [exampleStage("sand", "not yet", 80, 95)]));
    expect(marks).toEqual([
      { stage: "sand", state: "not yet", likelyX: x(80), safeX: x(95), label: { text: "sand 09:20", x: x(80) } },
    ]);
  });
  it("drops a stage that the axis start has passed and names one beyond the end", () => {
    const { marks, beyond } = layout(
      exampleCoat("1", [exampleStage("touch-dry", "ready", 2, 4), exampleStage("full-cure", "not yet", 9000, 9900)]),
    );
    expect(marks).toEqual([]);
    expect(beyond).toEqual([{ word: "full cure", when: "8 Mar 14:00" }]);
  });
  it("draws no mark for a stage without a time", () => {
    const { marks, beyond } = layout(exampleCoat("1", [exampleStage("sand", "not yet", null, null)]));
    expect([marks, beyond]).toEqual([[], []]);
  });
  it("never lets labels overlap or leave the rail, and names the next stage first", () => {
    const stages = [
      exampleStage("touch-dry", "ready", 50, 52),
      exampleStage("dust-free", "ready", 51, 53),
      exampleStage("sand", "not yet", 61, 63),
      exampleStage("demask", "not yet", 62, 66),
      exampleStage("polish", "not yet", 109, 110),
    ];
    for (const widthPx of [150, 300, 600, 1200, 6000]) {
      const { marks } = layout(exampleCoat("1", stages), widthPx);
      const labels = marks.flatMap(({ label }) => (label === null ? [] : [label])).sort((a, b) => a.x - b.x);
      labels.forEach((label, index) => {
        const end = label.x + (label.text.length + 1) * room.labelCharPx;
        expect(label.x).toBeGreaterThanOrEqual(0);
        expect(end).toBeLessThanOrEqual(labels[index + 1]?.x ?? widthPx);
      });
      expect(marks.find((mark) => mark.stage === "sand")?.label?.text).toMatch(/^sand/);
    }
  });
  it("cuts a window at the axis ends and says which gates stand here", () => {
    const { gates } = layout(
      exampleCoat(
        "1",
        [],
        [
          ["open", 5, 90],
          ["not open", 70, null],
          ["missed", 1, 9],
          ["not open", 200, 300],
        ],
      ),
    );
    expect(gates).toEqual([
      { state: "open", fromX: 0, toX: x(90), opensHere: false, shutsHere: true },
      { state: "not open", fromX: x(70), toX: 6000, opensHere: true, shutsHere: false },
    ]);
  });
  it("ends a lasting band at now, lays gaps over stays, and leaves out text that does not fit", () => {
    const at = (minute: number) => new Date(minutes(minute)).toISOString();
    const coat = exampleCoat("1", []);
    coat.bands = [
      { kind: "gap", text: "no readings at all", from: at(30), to: at(31) },
      { kind: "place", text: "Booth", from: at(0), to: at(40) },
      { kind: "place", text: "Yard", from: at(40), to: null },
    ];
    expect(layout(coat).bands).toEqual([
      { kind: "place", fromX: 0, toX: x(40), text: "Booth" },
      { kind: "place", fromX: x(40), toX: x(60), text: "Yard" },
      { kind: "gap", fromX: x(30), toX: x(31), text: "" },
    ]);
  });
});
