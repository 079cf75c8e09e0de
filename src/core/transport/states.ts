/** What the transport says: the six states a player can be in. */
export type TransportState = 'stopped' | 'counting-in' | 'playing' | 'waiting' | 'recording' | 'layering';
