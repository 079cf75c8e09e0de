import { afterEach, describe, expect, test, vi } from 'vitest';
import { asId, type IdeaId, type RecordingId } from '../../../src/core/song/ids.js';
import { bars, bpm, frames } from '../../../src/core/units/index.js';
import type { Snapshot } from '../../../src/rehearsal/snapshot.js';
import type { BuildPageElement } from '../../../src/ui/pages/build-page.js';
import { mountBuild } from '../../../src/ui/pages/mount.js';
import { FakeRehearsal, NOWHERE } from '../support/fake-rehearsal.js';
import { allByRole, byRole, everything, textOf } from '../support/roles.js';
import { choose, keyDown, leaveFocus, settled, type } from '../support/stage.js';
import { inkOf, OPEN_SOUND, READY, SECTION, snapshotOf, type Evening } from '../support/harbour-ferry.js';

const BAND = [
  ['Drums', 'drums'],
  ['Bass', 'bass'],
] as const;
const LAYERING = {
  state: 'layering',
  bar: 3,
  bars: 4,
  layerName: 'Shaker',
  next: 'loop-plays',
  pressMeans: 'go-round-again',
} as const;

interface Opened {
  readonly rehearsal: FakeRehearsal;
  readonly page: BuildPageElement;
  readonly root: ShadowRoot;
}

async function opened(evening: Evening = {}, change: Partial<Snapshot> = {}): Promise<Opened> {
  const rehearsal = new FakeRehearsal(snapshotOf(evening, change));
  document.body.replaceChildren(document.createElement('div'));
  mountBuild(document.body.firstElementChild as HTMLElement, rehearsal);
  const page = document.querySelector('mh-build-page')!;
  await settled(page);
  return { rehearsal, page, root: page.shadowRoot! };
}

afterEach(() => {
  document.body.replaceChildren();
});

describe('an empty song', () => {
  test('says what to do in two short sentences, and the usual caution', async () => {
    const { root } = await opened({ bars: null });
    const text = textOf(root);
    expect(text).toContain('Tap T along with the song in your head, and the tempo finds itself.');
    expect(text).toContain('Then Space counts you in and records.');
    expect(text).toContain('Put headphones on, and start quietly');
  });

  test('says how a loop without a tempo is played where one was asked for', async () => {
    const text = textOf((await opened({ bars: null }, { isFree: true })).root);
    expect(text).toContain('Press it again where the riff begins anew');
    expect(text).not.toContain('Tap T');
  });

  test('the caution goes once the sound is open, the advice once something was played', async () => {
    const { root } = await opened({ bars: null }, { sound: OPEN_SOUND });
    expect(textOf(root)).not.toContain('headphones');
    expect(textOf((await opened({ layers: BAND })).root)).not.toContain('Tap T');
  });
});

describe('the page', () => {
  test('is named after the song', async () => {
    await opened({ title: 'Slack Water' });
    expect(document.title).toBe('Slack Water · Manyhand');
  });

  test('is drawn again with every snapshot', async () => {
    const { rehearsal, page, root } = await opened({ layers: BAND });
    rehearsal.publish(snapshotOf({ layers: BAND }, { transport: LAYERING, passInk: inkOf('shaker', 4, 2.6) }));
    await settled(page);
    expect(textOf(root)).toContain('Layering Shaker · bar 3 of 4');
    expect(allByRole(root, 'listitem').map((item) => textOf(item).split(' ')[0])).toEqual(['Drums', 'Bass', 'Shaker']);
  });

  test('stops listening when it is taken away', async () => {
    const { rehearsal, page } = await opened();
    expect(rehearsal.listening).toBe(1);
    page.remove();
    expect(rehearsal.listening).toBe(0);
  });

  test('has landmarks: a banner, the music, the now line', async () => {
    const { root } = await opened();
    expect(['header', 'main', 'footer'].map((tag) => root.querySelectorAll(tag).length)).toEqual([1, 1, 1]);
  });

  test('carries no style attribute, which the content policy would refuse', async () => {
    const { root } = await opened({ bars: 16, layers: BAND }, { transport: LAYERING });
    const written = everything(root).filter((element) => element.getAttribute('style') !== null);
    // What is set through the style object is allowed, and shows up here as well: it never comes from a template.
    expect(written.every((element) => /^(MH-SYSTEM|MH-METRE)$/.test(element.tagName))).toBe(true);
  });
});

describe('what is asked reaches the rehearsal:', () => {
  test.each([
    ['Space', ' ', {}, ['press', expect.any(Number)]],
    ['PageDown', 'PageDown', {}, ['press', expect.any(Number)]],
    ['Escape', 'Escape', {}, ['stop', expect.any(Number)]],
    ['Backspace', 'Backspace', {}, ['takeBack', expect.any(Number)]],
    ['Shift+Backspace', 'Backspace', { shift: true }, ['putBack']],
    ['T', 't', {}, ['tap', expect.any(Number)]],
    ['H', 'h', {}, ['hearBeat', expect.any(Number)]],
    ['K', 'k', {}, ['setClick', false]],
    ['Y', 'y', {}, ['keepThat', expect.any(Number)]],
  ] as const)('%s', async (_, key, options, call) => {
    const { rehearsal } = await opened();
    keyDown(document.body, key, options);
    expect(rehearsal.calls).toEqual([call]);
  });

  test.each<[string, (root: ShadowRoot) => void, readonly unknown[]]>([
    ['tempo', (root) => byRole(root, 'button', 'Faster').click(), ['setTempo', 97]],
    ['length', (root) => choose(byRole(root, 'combobox', 'length'), '8'), ['setSectionBars', SECTION, 8]],
    ['open length', (root) => choose(byRole(root, 'combobox', 'length'), ''), ['setSectionBars', SECTION, null]],
    ['count-in', (root) => choose(byRole(root, 'combobox', 'count-in'), '1'), ['setCountIn', 1]],
    ['click', (root) => byRole(root, 'button', 'Silence the click').click(), ['setClick', false]],
    ['sound', (root) => byRole(root, 'button', 'Open the sound').click(), ['openSound']],
  ])('%s', async (_, act, call) => {
    const { rehearsal, root } = await opened();
    act(root);
    expect(rehearsal.calls).toEqual([call]);
  });

  test('no tempo yet, and a loop read otherwise', async () => {
    const { rehearsal, page, root } = await opened();
    byRole(root, 'button', 'no tempo yet: I play, it follows').click();
    const now = {
      played: frames(480_000),
      bars: bars(4),
      barFrames: frames(120_000),
      bodyFrames: frames(480_000),
      bpm: bpm(96),
    };
    const double = { ...now, bars: bars(8), barFrames: frames(60_000), bpm: bpm(192) };
    const readings = { now, fewer: null, more: null, half: null, double };
    rehearsal.publish(snapshotOf({ layers: [['Guitar', 'chords']] }, { readings }));
    await settled(page);
    byRole(byRole(root, 'group', 'Read as'), 'button', 'double').click();
    expect(rehearsal.calls).toEqual([
      ['recordWithoutTempo', true],
      ['readAs', double],
    ]);
  });

  test('an idea let go', async () => {
    const { song } = snapshotOf();
    const idea = {
      id: asId<IdeaId>('idea'),
      recording: asId<RecordingId>('r'),
      channel: 0,
      start: frames(0),
      frames: frames(576_000),
      at: '',
    };
    const { rehearsal, root } = await opened({}, { song: { ...song, ideas: [idea] } });
    byRole(root, 'button', 'Let go of an idea of 12 seconds').click();
    expect(rehearsal.calls).toEqual([['dropIdea', 'idea']]);
  });

  test('a layer left out from its margin', async () => {
    const { rehearsal, root } = await opened({ layers: BAND });
    keyDown(byRole(root, 'button', /^Bass: /), 'l');
    expect(rehearsal.calls).toEqual([['leaveOut', SECTION, 'layer Bass', true]]);
  });

  test('a level from its margin', async () => {
    const { rehearsal, root } = await opened({ layers: BAND });
    keyDown(byRole(root, 'button', /^Bass: /), 'ArrowDown');
    expect(rehearsal.calls).toEqual([['setLayerGain', SECTION, 'layer Bass', -1]]);
  });

  test('another metre', async () => {
    const { rehearsal, page, root } = await opened();
    byRole(root, 'button', 'Metre 4/4').click();
    await settled(page);
    type(byRole(root, 'textbox', 'Pulses in a bar'), '3');
    await settled(page);
    byRole(root, 'button', 'Set the metre').closest('form')!.requestSubmit();
    expect(rehearsal.calls).toEqual([['setMetre', { num: 3, den: 4, groups: [1, 1, 1] }, { num: 1, den: 4 }]]);
  });

  test('a channel, which is then the one in use', async () => {
    const { rehearsal, page, root } = await opened({}, { sound: OPEN_SOUND });
    byRole(root, 'button', /round trip/).click();
    await settled(page);
    leaveFocus();
    byRole(root, 'button', '2').click();
    await settled(page);
    expect(rehearsal.calls).toEqual([['useChannel', 1]]);
    expect(byRole(root, 'button', '2').getAttribute('aria-pressed')).toBe('true');
  });
});

describe('the switch', () => {
  test('on a focused button presses, and does not do what the button does', async () => {
    const { rehearsal, root } = await opened();
    const click = byRole(root, 'button', 'Silence the click');
    click.focus();
    expect(keyDown(click, ' ').defaultPrevented).toBe(true);
    expect(rehearsal.calls.map(([intent]) => intent)).toEqual(['press']);
  });

  test('in a tempo that is being typed sets it first, and then presses', async () => {
    const { rehearsal, page, root } = await opened();
    keyDown(byRole(root, 'spinbutton', 'Tempo'), 'Enter');
    await settled(page);
    const field = byRole(root, 'textbox', 'Tempo');
    type(field, '132');
    expect(keyDown(field, ' ').defaultPrevented).toBe(true);
    expect(rehearsal.calls).toEqual([
      ['setTempo', 132],
      ['press', expect.any(Number)],
    ]);
  });

  test('is typed into a title that is being written', async () => {
    const { rehearsal, page, root } = await opened();
    byRole(root, 'button', 'Last Boat Home').click();
    await settled(page);
    expect(keyDown(byRole(root, 'textbox', 'Title'), ' ').defaultPrevented).toBe(false);
    expect(rehearsal.calls).toEqual([]);
  });
});

describe('the look', () => {
  test('is the page’s own and does not trouble the rehearsal', async () => {
    const { rehearsal, page, root } = await opened();
    byRole(root, 'button', 'Slate').click();
    await settled(page);
    expect(document.documentElement.dataset['theme']).toBe('slate');
    expect(byRole(root, 'button', 'Slate').getAttribute('aria-pressed')).toBe('true');
    expect(rehearsal.calls).toEqual([]);
  });
});

describe('frames', () => {
  /** Frames that come when they are called for. */
  function frames(): (now: number) => void {
    let next: FrameRequestCallback | null = null;
    vi.stubGlobal('requestAnimationFrame', (callback: FrameRequestCallback) => {
      next = callback;
      return 1;
    });
    vi.stubGlobal('cancelAnimationFrame', () => (next = null));
    return (now) => {
      const callback = next;
      next = null;
      callback?.(now);
    };
  }
  const batons = (root: ShadowRoot): readonly boolean[] =>
    everything(root)
      .filter((each) => each.matches('.baton'))
      .map((baton) => !baton.hasAttribute('hidden'));

  test('are not asked for while the sound is asleep and nothing plays', async () => {
    const wanted = vi.fn(() => 1);
    vi.stubGlobal('requestAnimationFrame', wanted);
    await opened();
    expect(wanted).not.toHaveBeenCalled();
    await opened({}, { sound: OPEN_SOUND });
    expect(wanted).toHaveBeenCalled();
  });

  // They carry the time: without them nobody would notice that the tapping has come to rest.
  test.each<[string, Partial<Snapshot>]>([
    ['somebody taps', { taps: { taps: 1, bpm: null, spread: null, other: null } }],
    [
      'something could not be kept, and is to be tried again',
      { keeping: { state: 'not-kept', reason: 'storage-full' } },
    ],
  ])('are asked for while the sound is asleep and %s', async (_, change) => {
    const frame = frames();
    const { rehearsal, page } = await opened({}, change);
    const asked: number[] = [];
    rehearsal.where = (now) => {
      asked.push(now);
      return NOWHERE;
    };
    frame(1);
    frame(2);
    rehearsal.publish(snapshotOf({}));
    await settled(page);
    frame(3);
    frame(4);
    expect(asked).toEqual([1, 2, 3]);
  });

  test('move the baton and read the level, at the time of the frame', async () => {
    const frame = frames();
    const { rehearsal, page, root } = await opened({ layers: BAND }, { transport: LAYERING });
    const asked: number[] = [];
    rehearsal.where = (now) => {
      asked.push(now);
      return { through: 0.5, bar: 2, barPhase: 0, beat: 0, beatPhase: 0, inputPeak: 0.5 };
    };
    frame(1234.5);
    await settled(page);
    expect(asked).toEqual([1234.5]);
    expect(batons(root)).toEqual([true]);
    expect(textOf(root)).toContain('level good');
  });

  test('go on while the sound is open, and end with the page', async () => {
    const frame = frames();
    const { rehearsal, page } = await opened({}, { sound: OPEN_SOUND });
    let count = 0;
    rehearsal.where = () => {
      count += 1;
      return NOWHERE;
    };
    frame(1);
    frame(2);
    page.remove();
    frame(3);
    expect(count).toBe(2);
  });

  test('point at no bar while the click alone goes on over an open section', async () => {
    const frame = frames();
    const transport = {
      ...READY,
      state: 'playing',
      bar: 9,
      bars: null,
      next: 'plays-on',
      pressMeans: 'new-layer',
    } as const;
    const { rehearsal, root } = await opened({ bars: null }, { sound: OPEN_SOUND, transport });
    rehearsal.where = () => ({ ...NOWHERE, bar: 1, barPhase: 0.5 });
    frame(1);
    expect(batons(root)).toEqual([false]);
  });
});
