/** Names of the files in the data folder that more than one command opens. */
export const recordsFileName = "records.db";
export const readingsFileName = "readings.db";
/** Readings on their way to a store on another machine. */
export const waitingFileName = "readings-waiting.db";
