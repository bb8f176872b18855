// What a page gains with scripts: the answer while typing, notes without a new page, the margin that follows.
import { listen } from "./listen.js";
import { keep } from "./keep.js";
import { follow } from "./margin.js";

function begin() {
  listen();
  follow();
}

keep(begin);
begin();
