/** Least squares with a few unknowns that are drawn towards values expected beforehand. */

/** Sums of products of features, and of features with targets; the lower triangle of a symmetric matrix, row by row. */
export interface NormalSums {
  count: number;
  products: Float64Array;
  withTarget: Float64Array;
}

export function emptySums(size: number): NormalSums {
  return { count: 0, products: new Float64Array(size * size), withTarget: new Float64Array(size) };
}

export function addSample(sums: NormalSums, features: Float64Array, target: number): void {
  const size = features.length;
  sums.count++;
  for (let row = 0; row < size; row++) {
    const feature = features[row] as number;
    for (let column = 0; column <= row; column++) {
      sums.products[row * size + column] =
        (sums.products[row * size + column] as number) + feature * (features[column] as number);
    }
    sums.withTarget[row] = (sums.withTarget[row] as number) + feature * target;
  }
}

export function addSums(to: NormalSums, other: NormalSums): void {
  to.count += other.count;
  for (let i = 0; i < to.products.length; i++)
    to.products[i] = (to.products[i] as number) + (other.products[i] as number);
  for (let i = 0; i < to.withTarget.length; i++) {
    to.withTarget[i] = (to.withTarget[i] as number) + (other.withTarget[i] as number);
  }
}

/**
 * The coefficients b that make Σ(y − x·b)² + weight·Σ s_j²·(b_j − expected_j)² least, s_j² the mean square of feature j:
 * what was expected counts as `weight` samples. Solved by Cholesky's method. Without samples, what was expected.
 */
export function ridge(sums: NormalSums, expected: Float64Array, weight: number): Float64Array {
  const size = expected.length;
  if (sums.count === 0) return expected.slice();
  const factor = sums.products.slice();
  const right = sums.withTarget.slice();
  for (let j = 0; j < size; j++) {
    const pull = (weight * (factor[j * size + j] as number)) / sums.count + 1e-9;
    factor[j * size + j] = (factor[j * size + j] as number) + pull;
    right[j] = (right[j] as number) + pull * (expected[j] as number);
  }
  for (let row = 0; row < size; row++) {
    for (let column = 0; column <= row; column++) {
      let sum = factor[row * size + column] as number;
      for (let k = 0; k < column; k++)
        sum -= (factor[row * size + k] as number) * (factor[column * size + k] as number);
      factor[row * size + column] = row === column ? Math.sqrt(sum) : sum / (factor[column * size + column] as number);
    }
  }
  for (let row = 0; row < size; row++) {
    let sum = right[row] as number;
    for (let k = 0; k < row; k++) sum -= (factor[row * size + k] as number) * (right[k] as number);
    right[row] = sum / (factor[row * size + row] as number);
  }
  for (let row = size - 1; row >= 0; row--) {
    let sum = right[row] as number;
    for (let k = row + 1; k < size; k++) sum -= (factor[k * size + row] as number) * (right[k] as number);
    right[row] = sum / (factor[row * size + row] as number);
  }
  return right;
}
