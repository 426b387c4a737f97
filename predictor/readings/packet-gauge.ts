/** Watches the lengths that MQTT packets announce, so that none has to be kept before it is known to be small enough. */

/** The most length bytes a packet can have (MQTT 3.1.1 §2.2.3). */
const mostLengthBytes = 4;

/**
 * Gives a function that takes the bytes of one connection as they come, in pieces of any size. It returns false once a
 * packet announces more than `mostBytes` after its fixed header, or a length that is none; the connection is then lost.
 */
export function packetGauge(mostBytes: number): (chunk: Uint8Array) => boolean {
  /** Bytes of the present packet that are still to come. */
  let bytesToCome = 0;
  let inLength = false;
  let length = 0;
  let lengthBytes = 0;
  return (chunk) => {
    let at = 0;
    while (at < chunk.length) {
      if (bytesToCome > 0) {
        const passed = Math.min(bytesToCome, chunk.length - at);
        bytesToCome -= passed;
        at += passed;
        continue;
      }
      const byte = chunk[at] ?? 0;
      at += 1;
      if (!inLength) {
        inLength = true;
        length = 0;
        lengthBytes = 0;
        continue;
      }
      length += (byte & 127) * 128 ** lengthBytes;
      lengthBytes += 1;
      const isLast = (byte & 128) === 0;
      if (length > mostBytes || (!isLast && lengthBytes === mostLengthBytes)) return false;
      if (isLast) {
        inLength = false;
        bytesToCome = length;
      }
    }
    return true;
  };
}
