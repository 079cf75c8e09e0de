import fc from 'fast-check';
import { expect, test } from 'vitest';
import { bandEdges } from '../../../src/core/listen/bands.js';
import { PowerSpectra } from '../../../src/core/listen/power-spectra.js';

/** The definition of the discrete Fourier transform, slowly. */
function powersByDefinition(samples: readonly number[]): number[] {
  const size = samples.length;
  return Array.from({ length: size / 2 + 1 }, (_, k) => {
    const turn = (2 * Math.PI * k) / size;
    const real = samples.reduce((sum, x, i) => sum + x * Math.cos(turn * i), 0);
    const imaginary = samples.reduce((sum, x, i) => sum + x * Math.sin(turn * i), 0);
    return real * real + imaginary * imaginary;
  });
}

test('two spectra at a time are those of the definition, for any signals', () => {
  const samples = fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: 64, maxLength: 64 });
  const spectra = new PowerSpectra(64);
  fc.assert(
    fc.property(samples, samples, (a, b) => {
      const [powerA, powerB] = [new Float64Array(33), new Float64Array(33)];
      spectra.read(Float64Array.from(a), Float64Array.from(b), powerA, powerB);
      powersByDefinition(a).forEach((power, k) => {
        expect(powerA[k]).toBeCloseTo(power, 9);
      });
      powersByDefinition(b).forEach((power, k) => {
        expect(powerB[k]).toBeCloseTo(power, 9);
      });
    }),
    { numRuns: 20 },
  );
});

test.each([
  [1024, 44_100],
  [1024, 48_000],
  [512, 22_050],
])(
  'bands of %i samples at %i frames a second rise without a gap from 40 Hz to 16 kHz or half the rate',
  (size, rate) => {
    const edges = [...bandEdges(size, rate)];
    expect(edges[0]).toBe(1);
    expect(((edges.at(-1) ?? 0) * rate) / size).toBeCloseTo(Math.min(16_000, rate / 2), -2);
    for (let band = 1; band < edges.length; band++) {
      const [from, to] = [edges[band - 1] ?? NaN, edges[band] ?? NaN];
      expect(to).toBeGreaterThan(from);
      expect(to).toBeLessThanOrEqual(Math.max(from + 1, Math.round(from * 1.26)));
    }
  },
);
