import { describe, expect, it } from "vitest";
import { exampleSheet } from "./example-coat.ts";
import { sheetSchema } from "./sheet.ts";
