/** As much of a browser's sound as opening it needs, in Node: contexts, a node for the engine, one input, one worker. */
import { vi } from 'vitest';
import type { FromCounter } from '../../../src/protocol/counted.js';
import type { ClockReading, FromEngine, ToEngine } from '../../../src/protocol/wire.js';

const LOOK_AHEAD = 96;

export class FakeContext extends EventTarget {
  readonly sampleRate: number;
  readonly options: AudioContextOptions;
  readonly baseLatency = 0.1;
  readonly outputLatency = 0.05;
  readonly currentTime = 1;
  readonly destination = { maxChannelCount: 2 };
  readonly audioWorklet = { addModule: () => Promise.resolve() };
  state = 'suspended';

  constructor(options: AudioContextOptions) {
    super();
    this.options = options;
    this.sampleRate = options.sampleRate ?? 0;
    FakeBrowser.now.contexts.push(this);
  }

  resume(): Promise<void> {
    this.state = 'running';
    return Promise.resolve();
  }

  close(): Promise<void> {
    this.become('closed');
    FakeBrowser.now.events.push('closed');
    return Promise.resolve();
  }

  become(state: string): void {
    this.state = state;
    this.dispatchEvent(new Event('statechange'));
  }

  getOutputTimestamp() {
    return { contextTime: 1, performanceTime: performance.now() };
  }

  createMediaStreamSource() {
    if (FakeBrowser.now.refuses === 'rate') throw new DOMException('', 'NotSupportedError');
    return { connect: () => undefined };
  }
}

/** The engine's node: stands at once, and settles what is counted elsewhere. */
export class FakeNode {
  readonly sent: ToEngine[] = [];
  onprocessorerror: (() => void) | null = null;
  readonly port = {
    onmessage: null as ((event: { readonly data: FromEngine }) => void) | null,
    postMessage: (message: ToEngine): void => {
      this.sent.push(message);
      if (message.type !== 'use-counted' || !FakeBrowser.now.settles) return;
      const observation = { type: 'capture-settled', at: 0, agreed: true } as never;
      queueMicrotask(() => this.tell({ type: 'observed', observation }));
    },
  };

  constructor() {
    FakeBrowser.now.nodes.push(this);
    queueMicrotask(() => {
      this.tell({ type: 'ready', lookAhead: LOOK_AHEAD });
      this.read({});
    });
  }

  connect(): void {
    // Nothing sounds.
  }

  tell(data: FromEngine): void {
    this.port.onmessage?.({ data });
  }

  read(reading: Partial<ClockReading>): void {
    this.tell({
      type: 'clock',
      rendered: 0,
      contextAhead: 0,
      peaks: { input: [], house: { peak: 0, held: 0 }, foldback: { peak: 0, held: 0 } },
      load: null,
      gaps: [],
      gapCount: 0,
      faults: { 'late-chunk': 0, 'frames-lost': 0, 'pool-full': 0, 'not-a-number': 0 },
      captured: 0,
      zeros: [],
      phase: null,
      ...reading,
    });
  }
}

export class FakeTrack extends EventTarget {
  readonly label = 'Two-channel interface';
  readyState = 'live';

  getSettings() {
    return {
      channelCount: 2,
      deviceId: 'in-1',
      echoCancellation: false,
      noiseSuppression: false,
      autoGainControl: false,
    };
  }

  stop(): void {
    this.readyState = 'ended';
  }

  /** Pulled out, or taken away. */
  end(): void {
    this.readyState = 'ended';
    this.dispatchEvent(new Event('ended'));
  }
}

export class FakeWorker {
  onmessage: ((event: { readonly data: FromCounter }) => void) | null = null;
  onerror: (() => void) | null = null;
  terminated = false;

  constructor() {
    FakeBrowser.now.workers.push(this);
  }

  postMessage(): void {
    queueMicrotask(() => this.tell({ type: 'counting' }));
  }

  terminate(): void {
    this.terminated = true;
  }

  tell(data: FromCounter): void {
    this.onmessage?.({ data });
  }
}

class FakeMedia extends EventTarget {
  readonly #browser: FakeBrowser;
  readonly tracks: FakeTrack[] = [];
  inputs = [{ kind: 'audioinput', deviceId: 'in-1', label: 'Two-channel interface', groupId: '' }];

  constructor(browser: FakeBrowser) {
    super();
    this.#browser = browser;
  }

  getUserMedia() {
    if (this.#browser.refuses === 'permission') return Promise.reject(new DOMException('', 'NotAllowedError'));
    const track = new FakeTrack();
    this.tracks.push(track);
    this.#browser.events.push('opened');
    return Promise.resolve({ getAudioTracks: () => [track], getTracks: () => [track] });
  }

  enumerateDevices() {
    return Promise.resolve(this.inputs);
  }
}

/** Stubs the globals; the newest one is the one that is used. */
export class FakeBrowser {
  static now: FakeBrowser;
  readonly contexts: FakeContext[] = [];
  readonly nodes: FakeNode[] = [];
  readonly workers: FakeWorker[] = [];
  readonly media = new FakeMedia(this);
  /** Inputs that were opened and contexts that were closed, in order. */
  readonly events: string[] = [];
  /** Whether the engine gives its captured frames their numbers. */
  settles = true;
  /** What the browser will not do. */
  refuses: 'permission' | 'rate' | null = null;

  /** @param counts whether it hands out the frames of a track. */
  constructor(counts: boolean) {
    FakeBrowser.now = this;
    const page = Object.assign(new EventTarget(), { visibilityState: 'visible' });
    vi.stubGlobal('document', page);
    vi.stubGlobal('navigator', { mediaDevices: this.media });
    vi.stubGlobal('isSecureContext', true);
    vi.stubGlobal('AudioContext', FakeContext);
    vi.stubGlobal('AudioWorkletNode', FakeNode);
    vi.stubGlobal('Worker', FakeWorker);
    if (counts)
      vi.stubGlobal(
        'MediaStreamTrackProcessor',
        class {
          readonly readable = {};
        },
      );
  }

  get node(): FakeNode {
    const node = this.nodes.at(-1);
    if (node === undefined) throw new Error('Got no node when expected one.');
    return node;
  }

  get track(): FakeTrack {
    const track = this.media.tracks.at(-1);
    if (track === undefined) throw new Error('Got no track when expected one.');
    return track;
  }

  /** Another list of inputs, and the browser says so. */
  plug(...inputs: readonly { readonly id: string; readonly name: string }[]): void {
    this.media.inputs = inputs.map(({ id, name }) => ({ kind: 'audioinput', deviceId: id, label: name, groupId: '' }));
    this.media.dispatchEvent(new Event('devicechange'));
  }
}
