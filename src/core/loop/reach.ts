/** How much has to be heard round a press, in seconds. */

/** A press and what it is meant for lie within this of each other. */
export const PRESS_REACH_SECONDS = 0.15;
/** What is compared: long enough for a beat and what follows it, short enough for the loop to join soon. */
export const MATCH_SECONDS = 0.32;
/** After the second press so much has to be there, for the latest end that it may mean. */
export const LISTEN_AFTER_SECONDS = PRESS_REACH_SECONDS + MATCH_SECONDS;
