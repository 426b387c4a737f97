/** The dark modules of a QR code (ISO/IEC 18004), and whether its address is any good on a phone. */
import { create } from "qrcode";

/** Light modules that the standard wants around the code. */
const quiet = 4;

/** The dark modules as squares of side 1, after the quiet zone, and the side of the whole in modules. */
export function qrPath(text: string): { path: string; side: number } {
  const { modules } = create(text, { errorCorrectionLevel: "L" });
  const { size } = modules;
  let path = "";
  for (let row = 0; row < size; row++) {
    for (let column = 0; column < size; column++) {
      if (modules.get(row, column)) path += `M${column + quiet} ${row + quiet}h1v1h-1z`;
    }
  }
  return { path, side: size + 2 * quiet };
}

/** An address that only this machine can open is of no use on a phone. */
export const opensElsewhere = (hostname: string) => !/^(localhost|127(\.\d+){3}|\[::1\])$/.test(hostname);
