// A photo before it is sent: drawn from its file, so that nothing but the file itself has to be let onto the page.
import { make } from "./dom.js";

/** The longer side of what is drawn, in pixels. */
const LONGEST = 640;

/** Returns what shows the photo that stands in a field for a file, and what says where it can't be shown. */
export function previewOf(field) {
  const canvas = make("canvas", { class: "preview", role: "img", hidden: true });
  const words = make("p", { role: "status", hidden: true });
  const show = async () => {
    const [file] = field.files;
    [canvas.hidden, words.hidden] = [true, true];
    const photo = file && (await createImageBitmap(file).catch(() => null));
    // Another may have been chosen meanwhile.
    if (!file || field.files[0] !== file) return;
    [canvas.hidden, words.hidden] = [!photo, Boolean(photo)];
    words.textContent = `This browser can't show ${file.name}, so it may be refused: photos are PNG or JPEG.`;
    if (photo) drawInto(canvas, photo, file.name);
    canvas.closest("form")?.scrollIntoView({ block: "nearest" });
  };
  field.addEventListener("change", show);
  show();
  return [canvas, words];
}

function drawInto(canvas, photo, name) {
  const scale = Math.min(1, LONGEST / Math.max(photo.width, photo.height));
  [canvas.width, canvas.height] = [photo.width, photo.height].map((side) => Math.max(1, Math.round(side * scale)));
  canvas.getContext("2d").drawImage(photo, 0, 0, canvas.width, canvas.height);
  canvas.setAttribute("aria-label", `the photo in ${name}`);
  photo.close();
}
