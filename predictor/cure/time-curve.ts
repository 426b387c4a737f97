/** Minutes over temperature: ln(minutes) linear in 1/T between anchors, the end lines going on beyond them. */

export const gasConstantJPerMolK = 8.314462618;
export const kelvinAt0C = 273.15;

/** ln(minutes) = intercept + slopeK / T, T in kelvin. */
export interface LnLine {
  intercept: number;
  slopeK: number;
}

export interface TimeCurve {
  /** Rising. */
  anchorsC: number[];
  /** One for each pair of neighbouring anchors; one in all when there is a single anchor. */
  lines: LnLine[];
}

/** The curve through anchors that rise, minutes above 0; a single anchor takes its slope from the activation energy. */
export function curveThrough(anchorsC: number[], minutes: number[], activationEnergyKJ: number): TimeCurve {
  const points = anchorsC.map((tempC, index) => ({
    inverseK: 1 / (tempC + kelvinAt0C),
    ln: Math.log(minutes[index] as number),
  }));
  const first = points[0];
  if (first === undefined) throw new RangeError("a time curve needs at least one anchor");
  const lineFrom = (point: typeof first, slopeK: number) => ({ intercept: point.ln - slopeK * point.inverseK, slopeK });
  const lines = points.slice(1).map((point, index) => {
    const before = points[index] as typeof first;
    return lineFrom(before, (point.ln - before.ln) / (point.inverseK - before.inverseK));
  });
  return {
    anchorsC,
    lines: lines.length > 0 ? lines : [lineFrom(first, (activationEnergyKJ * 1000) / gasConstantJPerMolK)],
  };
}

/** Which line holds at a temperature in °C; on an anchor either neighbour is right, the curve being continuous. */
export function segmentAt(anchorsC: readonly number[], tempC: number): number {
  let segment = 0;
  while (segment < anchorsC.length - 2 && tempC > (anchorsC[segment + 1] as number)) segment++;
  return segment;
}

/** Minutes at a temperature in °C above −273.15; NaN below. */
export function minutesAt(curve: TimeCurve, tempC: number): number {
  const { intercept, slopeK } = curve.lines[segmentAt(curve.anchorsC, tempC)] as LnLine;
  return tempC > -kelvinAt0C ? Math.exp(intercept + slopeK / (tempC + kelvinAt0C)) : Number.NaN;
}
