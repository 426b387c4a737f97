/** What is taken for how sure things are, wherever it counts. */

/** Nine times in ten: the 90th percentile of the normal distribution. */
export const ninetiethPercentile = 1.2816;
/** Standard deviation of ln(time) about a sheet; assumed. */
export const usualSheetSigma = 0.15;
