/** What was measured or decided on this site, and no sheet can know. */
import { z } from "zod";

export const siteSchema = z.strictObject({
  /** Share of what leaves the gun that stays on the panel, as measured here. */
  transferEfficiencyPercent: z.number().min(10).max(100).optional(),
  /** What stays in cup and gun. */
  wasteLitres: z.number().min(0).max(1).optional(),
  /** Pots to mix in. */
  potLitres: z.array(z.number().positive().max(50)).min(1).optional(),
  /** How long extraction must run after the last coat before masks come off, as measured here by a competent person. */
  clearanceMinutes: z.number().positive().max(240).optional(),
});
export type SiteSettings = z.infer<typeof siteSchema>;
