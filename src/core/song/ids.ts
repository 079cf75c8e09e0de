/** Identities. They are made outside the core (see ports/ids) and never parsed. */
declare const id: unique symbol;
type Id<Name extends string> = string & { readonly [id]: Name };

export type SongId = Id<'song'>;
export type SectionId = Id<'section'>;
export type LayerId = Id<'layer'>;
export type TakeId = Id<'take'>;
export type RecordingId = Id<'recording'>;
export type IdeaId = Id<'idea'>;

/** Gives a plain string the identity that the caller knows it to have: at a maker of ids, or at a parser. */
// eslint-disable-next-line @typescript-eslint/no-unnecessary-type-parameters -- the caller names the identity: that is the point
export const asId = <Name extends SongId | SectionId | LayerId | TakeId | RecordingId | IdeaId>(text: string): Name =>
  text as Name;
