/** PINs that whoever guesses would try first. */

/** Digits in even steps (1111, 1234, 9876, 2468, 7890), a block repeated (1212, 123123), or a year. */
export function isEasyPin(pin: string): boolean {
  return isEven(pin) || /^(\d+)\1+$/.test(pin) || /^(19|20)\d\d$/.test(pin);
}

/** From each digit to the next by the same step, with 0 after 9. */
function isEven(pin: string): boolean {
  const steps = [...pin].slice(1).map((digit, index) => (Number(digit) - Number(pin[index]) + 10) % 10);
  return steps.every((step) => step === steps[0]);
}
