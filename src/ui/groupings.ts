/** Ways in which bars are usually felt, to be offered beside a field where any can be typed. */
import type { PulseValue } from '../core/meter/metre.js';
import { checkMetre, defaultMetre } from '../core/meter/metres.js';

const MOST_OFFERED = 6;

/**
 * The default first, then every order of twos and threes where there are few of them, then all pulses alone and the bar in
 * one. At most six.
 * @example usualGroupings(5, 8) // 3+2, 2+3, 1+1+1+1+1, 5
 */
export function usualGroupings(pulses: number, value: PulseValue): readonly (readonly number[])[] {
  const alone = Array.from({ length: pulses }, () => 1);
  const orders = twosAndThrees(pulses);
  const offered = [
    defaultMetre(pulses, value).metre.groups,
    ...(orders.length <= MOST_OFFERED ? orders : []),
    alone,
    [pulses],
  ];
  const seen = new Set<string>();
  return offered
    .filter((groups) => checkMetre({ num: pulses, den: value, groups }).ok && fresh(seen, groups.join('+')))
    .slice(0, MOST_OFFERED);
}

/** Every order of twos and threes that fills the bar. */
function twosAndThrees(left: number): readonly (readonly number[])[] {
  if (left === 0) return [[]];
  // Beyond a dozen pulses there are too many orders to offer any.
  if (left < 2 || left > 12) return [];
  return [2, 3].flatMap((first) => twosAndThrees(left - first).map((rest) => [first, ...rest]));
}

function fresh(seen: Set<string>, key: string): boolean {
  if (seen.has(key)) return false;
  seen.add(key);
  return true;
}
