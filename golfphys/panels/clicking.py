"""A picture on a page that tells where it was clicked."""

import anywidget
import traitlets

# that a picture tells where it was clicked the widgets of ipywidgets do not do: the few lines of the browser's side;
# arrow keys move a cross, by a tenth of a step with Shift, and Enter clicks there
BROWSER_SIDE = """
function render({ model, el }) {
  const image = document.createElement("img");
  image.style = "max-width: 100%; cursor: crosshair";
  image.alt = "a frame of the film";
  const show = () => {
    const old = image.src;
    image.hidden = !model.get("png").byteLength;
    image.src = URL.createObjectURL(new Blob([model.get("png")], { type: "image/png" }));
    if (old) URL.revokeObjectURL(old);
  };
  const cross = document.createElement("span");
  cross.textContent = "+";
  cross.style = "position: absolute; color: #d55e00; translate: -50% -50%; pointer-events: none";
  cross.hidden = true;
  let at = [0.5, 0.5]; // right and down, over the size of the picture
  const click = () => {
    const place = [at[0] * image.naturalWidth, at[1] * image.naturalHeight];
    model.set("clicked", [...place, (model.get("clicked")[2] || 0) + 1]);
    model.save_changes();
  };
  image.addEventListener("click", (event) => {
    const box = image.getBoundingClientRect();
    at = [(event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height];
    click();
  });
  const moves = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  image.tabIndex = 0;
  image.dataset.lmSuppressShortcuts = "true";
  image.addEventListener("keydown", (event) => {
    if (event.key === "Enter") click();
    else if (moves[event.key]) {
      const step = event.shiftKey ? 0.001 : 0.01;
      at = at.map((value, axis) => Math.min(1, Math.max(0, value + step * moves[event.key][axis])));
      [cross.style.left, cross.style.top] = [`${at[0] * image.width}px`, `${at[1] * image.height}px`];
      cross.hidden = false;
    } else return;
    event.preventDefault();
  });
  image.onblur = () => { cross.hidden = true; };
  model.on("change:png", show);
  show();
  el.style.position = "relative";
  el.append(image, cross);
}
export default { render };
"""


class ClickablePicture(anywidget.AnyWidget):
    """A picture whose trait `clicked` holds right, down (pixels of the picture) and the number of clicks so far."""

    _esm = BROWSER_SIDE
    png = traitlets.Bytes(b"").tag(sync=True)
    clicked = traitlets.List(traitlets.Float(), default_value=[0.0, 0.0, 0.0]).tag(sync=True)
