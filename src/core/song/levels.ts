/** How loud a layer is in its section. */
import type { Decibels } from '../units/index.js';
import { decibels } from '../units/index.js';
import type { Section } from './song.js';

/**
 * What a section's layer loses because others were laid over it: `recede` for each of them, and nothing for the first
 * layer. A blend counts as one layer. Taking a pass back gives it back to those under it.
 * @param index of the layer in its section.
 */
export function recededBy({ layers, recede }: Pick<Section, 'layers' | 'recede'>, index: number): Decibels {
  return decibels(index === 0 ? 0 : recede * (layers.length - 1 - index));
}

/** A layer's own gain and what it loses to those after it. Silence for a layer that is left out. */
export function levelOf(section: Section, index: number): Decibels {
  const layer = section.layers[index];
  if (layer === undefined || layer.leftOut) return decibels(-Infinity);
  return decibels(layer.gain - recededBy(section, index));
}
