// What a page gains with scripts: the answer while typing, notes without a new page, the margin that follows,
// and entries that wait in the browser when the server is away.
import { listen } from "./listen.js";
import { keep, renew } from "./keep.js";
import { follow } from "./margin.js";
import { begin as openAnew } from "./anew.js";
import { draw } from "./unsent.js";
import { watch } from "./alive.js";
import { keepDraft } from "./draft.js";
import { send } from "./send.js";
import { leave } from "./leave.js";
import { unfold } from "./unfold.js";

function begin() {
  keepDraft();
  listen();
  follow();
  draw();
}

keep(begin);
send();
leave();
begin();
openAnew();
unfold();
watch(() => renew(begin));
