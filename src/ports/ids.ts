/** Fresh identities, injected so that tests can replay. */
export interface Ids {
  /** Unique for ever. */
  fresh(): string;
}
