/** Whether the player lets the page listen, where the browser says so (Permissions API). */

export interface MicrophonePermission {
  /** False only where it is known to be withdrawn. */
  readonly isGranted: boolean;
  stop(): void;
}

const UNKNOWN: MicrophonePermission = { isGranted: true, stop: () => undefined };

/** @param changed called whenever it is given or taken away. */
export async function watchPermission(changed: (granted: boolean) => void): Promise<MicrophonePermission> {
  const permissions = navigator.permissions as Permissions | undefined;
  if (permissions === undefined) return UNKNOWN;
  try {
    const status = await permissions.query({ name: 'microphone' });
    const tell = (): void => {
      changed(status.state === 'granted');
    };
    status.addEventListener('change', tell);
    return {
      get isGranted() {
        return status.state === 'granted';
      },
      stop: () => {
        status.removeEventListener('change', tell);
      },
    };
  } catch {
    // Not every browser knows the name.
    return UNKNOWN;
  }
}
