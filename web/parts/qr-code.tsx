/** A QR code (ISO/IEC 18004) drawn as one path, so that a phone's camera opens an address. */

import { useMemo } from "preact/hooks";
import { opensElsewhere, qrPath } from "./qr-path.ts";

interface Props {
  address: string;
  /** What it opens, in words, beside it. */
  label: string;
  /** CSS pixels for a module. */
  modulePx: number;
}

/** Nothing where the address can only be opened on this machine. */
export function QrCode({ address, label, modulePx }: Props) {
  const { path, side } = useMemo(() => qrPath(address), [address]);
  if (!opensElsewhere(new URL(address).hostname)) return null;
  return (
    <figure class="qr">
      <svg
        role="img"
        aria-label={address}
        viewBox={`0 0 ${side} ${side}`}
        width={side * modulePx}
        height={side * modulePx}
        shape-rendering="crispEdges"
        focusable="false"
      >
        <path fill="#fff" d={`M0 0h${side}v${side}h-${side}z`} />
        <path fill="#000" d={path} />
      </svg>
      <figcaption>{label}</figcaption>
    </figure>
  );
}
