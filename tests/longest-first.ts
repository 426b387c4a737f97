/** The files that take longest are begun first, so that none is left running alone at the end. */
import { BaseSequencer, type TestSpecification } from "vitest/node";

/** Those that take a minute, and those that mostly wait; by what they took on two cores. */
const longest = [
  "tests/faults/outbox.test.ts",
  "tests/journeys/rehearsal.test.ts",
  "tests/journeys/overview.test.ts",
  "tests/journeys/look.test.ts",
  "tests/faults/lamp.test.ts",
  "tests/journeys/played.test.ts",
  "tests/faults/records-kill.test.ts",
  "predictor/serve/people-routes.test.ts",
  "tests/journeys/phone.test.ts",
  "tests/journeys/wall-weeks.test.ts",
  "tests/soak/soak.test.ts",
  "tests/faults/kills.test.ts",
  "tests/faults/modbus.test.ts",
  "tests/faults/program.test.ts",
  "tests/journeys/sheets.test.ts",
];

export class LongestFirst extends BaseSequencer {
  override async sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const rank = ({ moduleId, project }: TestSpecification) => {
      const index = longest.findIndex((file) => moduleId.endsWith(file));
      if (index >= 0) return index;
      // Units share what they have loaded while they come one after another.
      return longest.length + (project.name === "units" ? 1 : 0);
    };
    const sorted = await super.sort(files);
    return sorted.toSorted((a, b) => rank(a) - rank(b));
  }
}
