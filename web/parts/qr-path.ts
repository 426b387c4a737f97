/** The dark modules of a QR code (ISO/IEC 18004). The library for it is heavy: import this when a code is wanted. */
import { create } from "qrcode";

/** Light modules that the standard wants around the code. */
const quiet = 4;

export interface QrPath {
  /** The dark modules as squares of side 1, after the quiet zone. */
  path: string;
  /** Of the whole, in modules. */
  side: number;
}

export function qrPath(text: string): QrPath {
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
