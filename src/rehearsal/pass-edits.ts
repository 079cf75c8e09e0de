/** What a pass that is whole becomes: another take of the layer it was recorded for, or new layers. */
import type { EngineReport } from '../core/render/commands.js';
import type { Edit } from '../core/song/edits.js';
import type { LayerId } from '../core/song/ids.js';
import { asId } from '../core/song/ids.js';
import type { Layer, Section, Take } from '../core/song/song.js';
import { decibels } from '../core/units/index.js';
import type { Ids } from '../ports/ids.js';
import type { EngineHandles } from './handles.js';
import type { Notice } from './snapshot.js';

type Closed = Extract<EngineReport, { type: 'layer-closed' }>;

export interface PassEdit {
  readonly edit: Edit;
  /** What is to be told when it holds. */
  readonly notice: Notice;
}

export class PassEdits {
  readonly #ids: Ids;
  readonly #nameOf: (n: number) => string;

  /** @param nameOf the name of a new layer that is the n-th of its section, from 1. */
  constructor(ids: Ids, nameOf: (n: number) => string) {
    this.#ids = ids;
    this.#nameOf = nameOf;
  }

  /** Gives the pass's voices to what they play from now on. `takes`: one for each channel of the pass, at least one. */
  editOf(closed: Closed, takes: readonly Take[], section: Section, handles: EngineHandles): PassEdit {
    const of = closed.replaces === null ? undefined : handles.layerOf(closed.replaces);
    const retaken = section.layers.find(({ id }) => id === of);
    const [take] = takes;
    if (retaken !== undefined && take !== undefined) return this.#asTake(closed, take, section, retaken, handles);
    return this.#asLayers(closed, takes, section, handles);
  }

  layersOf(takes: readonly Take[], section: Section): readonly Layer[] {
    return takes.map((take, index) => ({
      id: asId<LayerId>(this.#ids.fresh()),
      name: this.nextName(section, index + 1),
      gain: decibels(0),
      leftOut: false,
      takes: [take],
      takeInUse: take.id,
      blendOf: [],
    }));
  }

  /** Name of the layer that is the n-th after those of the section, from 1. */
  nextName(section: Section, n = 1): string {
    return this.#nameOf(section.layers.length + n);
  }

  #asTake({ pass, bars }: Closed, take: Take, section: Section, layer: Layer, handles: EngineHandles): PassEdit {
    handles.nameVoice(pass, layer.id);
    return {
      edit: { type: 'add-take', section: section.id, layer: layer.id, take },
      notice: { type: 'take-kept', name: layer.name, bars },
    };
  }

  #asLayers({ pass, bars }: Closed, takes: readonly Take[], section: Section, handles: EngineHandles): PassEdit {
    const layers = this.layersOf(takes, section);
    layers.forEach(({ id }, index) => {
      handles.nameVoice(pass + index, id);
    });
    const names = layers.map(({ name }) => name);
    const [name = ''] = names;
    return {
      edit: { type: 'add-layers', section: section.id, layers, sectionBars: bars },
      notice: names.length > 1 ? { type: 'layers-kept', names, bars } : { type: 'layer-kept', name, bars },
    };
  }
}
