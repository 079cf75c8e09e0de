/** Own choice: nothing that rings on is followed for longer. In a file of its own, for those who need no ears. */
export const LONGEST_TAIL_SECONDS = 12;
