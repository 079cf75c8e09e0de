/** Names of exceptions and of settings: Media Capture and Streams (W3C), getUserMedia and MediaTrackSettings. */
import { beforeEach, describe, expect, test, vi } from 'vitest';
import { openInput } from '../../src/sound/input.js';

const refused = (reason: string) => ({ ok: false, reason });

/** A browser whose answer to getUserMedia is given; what it was asked for. */
function browser(answer: () => Promise<unknown>): readonly MediaStreamConstraints[] {
  const asked: MediaStreamConstraints[] = [];
  const getUserMedia = (constraints: MediaStreamConstraints): Promise<unknown> => {
    asked.push(constraints);
    return answer();
  };
  vi.stubGlobal('navigator', { mediaDevices: { getUserMedia } });
  return asked;
}

const PLAIN = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };

const streamOf = (settings: object, label = 'Two-channel interface'): (() => Promise<unknown>) => {
  const track = { label, getSettings: () => settings };
  return () => Promise.resolve({ getAudioTracks: () => [track] });
};

beforeEach(() => {
  vi.stubGlobal('isSecureContext', true);
});

describe('a browser that gives no input', () => {
  test.each([
    ['NotAllowedError', 'permission-refused'],
    ['SecurityError', 'permission-refused'],
    ['NotFoundError', 'no-input-device'],
    ['OverconstrainedError', 'no-input-device'],
    ['NotReadableError', 'input-in-use'],
    ['AbortError', 'input-in-use'],
    ['InvalidStateError', 'no-audio'],
  ])('says why by name: %s is %s', async (name, reason) => {
    browser(() => Promise.reject(new DOMException('', name)));
    expect(await openInput()).toEqual(refused(reason));
  });

  test.each<[string, unknown]>([
    ['an error of another kind', new TypeError('')],
    ['what is no error at all', 'no'],
    ['nothing', undefined],
  ])('and says it with %s', async (_, thrown) => {
    // eslint-disable-next-line @typescript-eslint/prefer-promise-reject-errors -- browsers owe nothing to lint
    browser(() => Promise.reject(thrown));
    expect(await openInput()).toEqual(refused('no-audio'));
  });

  test('but a stream of no sound', async () => {
    browser(() => Promise.resolve({ getAudioTracks: () => [] }));
    expect(await openInput()).toEqual(refused('no-input-device'));
  });

  test.each([
    [true, 'no-audio'],
    [false, 'not-secure'],
  ])('because it has no devices at all, in a page that is secure: %s', async (secure, reason) => {
    vi.stubGlobal('isSecureContext', secure);
    vi.stubGlobal('navigator', {});
    expect(await openInput()).toEqual(refused(reason));
  });
});

describe('the input', () => {
  test('is asked for as it comes: every voice processing off, and two channels if there are', async () => {
    const asked = browser(streamOf(PLAIN));
    await openInput();
    expect(asked).toEqual([{ audio: { ...PLAIN, channelCount: { ideal: 2 } } }]);
  });

  test('that was chosen is asked for by its id, and by no other', async () => {
    const asked = browser(streamOf({ ...PLAIN, deviceId: 'in-1' }));
    expect(await openInput('in-1')).toMatchObject({ ok: true, value: { id: 'in-1' } });
    expect(asked).toEqual([{ audio: { ...PLAIN, channelCount: { ideal: 2 }, deviceId: { exact: 'in-1' } } }]);
  });

  test('is described as the browser gives it', async () => {
    browser(streamOf({ ...PLAIN, channelCount: 2, latency: 0.012 }));
    expect(await openInput()).toMatchObject({
      ok: true,
      value: { name: 'Two-channel interface', channels: 2, latencySeconds: 0.012, processing: [] },
    });
  });

  test('has one channel and no latency where the browser does not say, and no name where it has none', async () => {
    browser(streamOf(PLAIN, ''));
    expect(await openInput()).toMatchObject({ ok: true, value: { name: '', channels: 1, latencySeconds: 0 } });
  });

  test('has two channels of an input that has more', async () => {
    browser(streamOf({ ...PLAIN, channelCount: 8 }));
    expect(await openInput()).toMatchObject({ ok: true, value: { channels: 2 } });
  });

  test.each([
    [{ ...PLAIN, echoCancellation: true }, ['echo cancellation']],
    [{ ...PLAIN, noiseSuppression: true, autoGainControl: true }, ['noise suppression', 'gain control']],
    // Newer browsers name the kind of echo cancellation.
    [{ ...PLAIN, echoCancellation: 'all' }, ['echo cancellation']],
    [{ echoCancellation: false, noiseSuppression: false }, ['gain control']],
  ])('tells of processing that is on, or that nobody says is off: %o', async (settings, processing) => {
    browser(streamOf(settings));
    expect(await openInput()).toMatchObject({ ok: true, value: { processing } });
  });
});
