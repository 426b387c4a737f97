/** For tests: from where people sign in, and why they are refused. */
import { SignInFault, type Whence } from "./people.ts";

/** A phone that nobody signed in on, somewhere on the network. */
export const strange: Whence = { device: null, address: "192.0.2.7" };

/** A phone that has a token. */
export const on = (device: string): Whence => ({ ...strange, device });

/** Each from an address of its own. */
export const elsewhere = (number: number): Whence => ({
  device: null,
  address: `198.51.${Math.floor(number / 250)}.${number % 250}`,
});

export async function refusalOf(attempt: Promise<unknown>): Promise<SignInFault> {
  const fault: unknown = await attempt.then(
    () => null,
    (error: unknown) => error,
  );
  if (!(fault instanceof SignInFault)) throw fault ?? new Error("it was let in");
  return fault;
}

export const keyOf = async (attempt: Promise<unknown>) => (await refusalOf(attempt)).text.key;
