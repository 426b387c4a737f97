/** A QR code (ISO/IEC 18004) drawn as one path, so that a phone's camera opens an address. */

import { useEffect, useState } from "preact/hooks";
import { opensElsewhere } from "./opens-elsewhere.ts";
import type { QrPath } from "./qr-path.ts";

interface Props {
  address: string;
  /** What it opens, in words, beside it. */
  label: string;
  /** CSS pixels for a module. */
  modulePx: number;
}

/** Nothing where the address can only be opened on this machine, and until the code is drawn. */
export function QrCode({ address, label, modulePx }: Props) {
  const [code, setCode] = useState<(QrPath & { address: string }) | null>(null);
  const isOfUse = opensElsewhere(new URL(address).hostname);
  useEffect(() => {
    if (!isOfUse) return;
    let isOver = false;
    import("./qr-path.ts").then(
      ({ qrPath }) => {
        if (!isOver) setCode({ address, ...qrPath(address) });
      },
      // Without the network the page stands without it.
      () => undefined,
    );
    return () => {
      isOver = true;
    };
  }, [address, isOfUse]);
  if (!isOfUse || code === null) return null;
  const { path, side } = code;
  return (
    <figure class="qr">
      <svg
        role="img"
        aria-label={code.address}
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
