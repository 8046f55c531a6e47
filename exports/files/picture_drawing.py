"""The child process that draws a picture: a packed scene on stdin, a PNG on stdout. See picture.py."""

from __future__ import annotations

import io
import sys
from typing import Any

import numpy as np
import numpy.typing as npt

DONE = b"planestock picture: drawn"
"""Ends the output: a process that died half-way has not written it."""

BLANK = 4
"""Exit code when nothing was drawn: the window opened, but what should draw in it does not work."""

WIDTH, HEIGHT = 1600, 1000
"""Pixels of the picture."""

FINER = 2
"""The scene is drawn this many times larger each way and averaged, so that edges come out smooth."""

FROM = (-0.5, -1.0, 0.62)
"""Where the eye stands, seen from the middle of the plane: towards the toe, to the left, above."""

VIEW_ANGLE = 18.0
"""Degrees of the view: a long lens, so that the plane looks as it does from across the bench."""

MARGIN = 1.05
"""Room left around the plane, as a factor."""

CENTRINGS = 12
"""Steps in which the camera comes to where the plane fills the picture; they halve the error each time."""

LEAST_GREY = 0.42
"""Dark metal is lightened to this, so that its edges and faces can be told apart."""

METAL_OPACITY = 0.85
"""Metal lets the wood behind it show faintly."""

NEARLY_GREY = 0.1
"""Spread of red, green and blue below which a colour is a grey: metal, not the wood of a handle."""

EDGE_COLOUR = (0.13, 0.10, 0.08)
EDGE_WIDTH = 1.15
"""Pixels of an edge line in the finished picture."""


def main() -> None:
    """Read a scene from stdin, draw it, write the PNG to stdout."""
    scene = np.load(io.BytesIO(sys.stdin.buffer.read()), allow_pickle=False)
    pixels = draw(scene)
    if int(np.ptp(pixels)) == 0:
        raise SystemExit(BLANK)
    sys.stdout.buffer.write(_png(pixels) + DONE)
    sys.stdout.buffer.flush()


def draw(scene: Any) -> npt.NDArray[np.uint8]:
    """Return a picture, (rows, columns, 3) with the bottom row first, of the parts in a scene of arrays."""
    import vtkmodules.vtkRenderingOpenGL2  # noqa: F401 - brings the drawing code
    from vtkmodules.vtkRenderingCore import vtkRenderer, vtkRenderWindow

    renderer = vtkRenderer()
    renderer.SetBackground(1.0, 1.0, 1.0)
    count = sum(name.startswith("points") for name in scene)
    for number in range(count):
        renderer.AddActor(_surface(scene, number))
        if len(scene[f"lengths{number}"]):
            renderer.AddActor(_edges(scene, number))
    _light(renderer)
    _look(renderer, np.concatenate([scene[f"points{number}"] for number in range(count)]))
    _peel(renderer)
    window = vtkRenderWindow()
    window.SetOffScreenRendering(1)
    window.SetAlphaBitPlanes(1)
    window.SetMultiSamples(0)
    window.SetSize(WIDTH * FINER, HEIGHT * FINER)
    window.AddRenderer(renderer)
    window.Render()
    return _averaged(_pixels(window))


def _surface(scene: Any, number: int) -> Any:
    from vtkmodules.vtkCommonDataModel import vtkPolyData
    from vtkmodules.vtkRenderingCore import vtkActor, vtkPolyDataMapper

    faces = scene[f"faces{number}"]
    surface = vtkPolyData()
    surface.SetPoints(_points(scene[f"points{number}"]))
    surface.SetPolys(_cells(np.column_stack((np.full(len(faces), 3), faces)).ravel(), len(faces)))
    normals = _arrays().numpy_to_vtk(scene[f"normals{number}"].astype(np.float32), deep=True)
    surface.GetPointData().SetNormals(normals)
    mapper = vtkPolyDataMapper()
    mapper.SetInputData(surface)
    mapper.SetResolveCoincidentTopologyToPolygonOffset()
    mapper.SetRelativeCoincidentTopologyPolygonOffsetParameters(1.0, 1.0)
    actor = vtkActor()
    actor.SetMapper(mapper)
    _finish(actor.GetProperty(), scene[f"colour{number}"], metal=bool(scene[f"metal{number}"]))
    return actor


def _finish(finish: Any, colour: npt.NDArray[np.float64], *, metal: bool) -> None:
    """Give a part its look: bare metal glossy and a little see-through, wood and old handles dull and solid."""
    bare = metal and float(np.ptp(colour[:3])) < NEARLY_GREY
    lighter = max(0.0, LEAST_GREY - float(colour[:3].mean())) if bare else 0.0
    finish.SetColor(*(colour[:3] + lighter))
    finish.SetOpacity(METAL_OPACITY if bare else 1.0)
    finish.SetInterpolationToPhong()
    finish.SetAmbient(0.16)
    finish.SetDiffuse(0.86)
    finish.SetSpecular(0.35 if bare else 0.08)
    finish.SetSpecularPower(28 if bare else 12)


def _edges(scene: Any, number: int) -> Any:
    from vtkmodules.vtkCommonDataModel import vtkPolyData
    from vtkmodules.vtkRenderingCore import vtkActor, vtkPolyDataMapper

    cells: list[int] = []
    start = 0
    for length in scene[f"lengths{number}"].tolist():
        cells += [length, *range(start, start + length)]
        start += length
    lines = vtkPolyData()
    lines.SetPoints(_points(scene[f"lines{number}"]))
    lines.SetLines(_cells(np.array(cells), len(scene[f"lengths{number}"])))
    mapper = vtkPolyDataMapper()
    mapper.SetInputData(lines)
    actor = vtkActor()
    actor.SetMapper(mapper)
    actor.GetProperty().SetColor(*EDGE_COLOUR)
    actor.GetProperty().SetLineWidth(EDGE_WIDTH * FINER)
    actor.GetProperty().LightingOff()
    actor.GetProperty().SetOpacity(0.75)
    return actor


def _arrays() -> Any:
    """Return VTK's bridge to numpy, which carries no types."""
    from vtkmodules.util import numpy_support

    return numpy_support


def _points(rows: npt.NDArray[np.float64]) -> Any:
    from vtkmodules.vtkCommonCore import vtkPoints

    points = vtkPoints()
    points.SetData(_arrays().numpy_to_vtk(np.ascontiguousarray(rows, dtype=np.float64), deep=True))
    return points


def _cells(flat: npt.NDArray[Any], count: int) -> Any:
    from vtkmodules.vtkCommonDataModel import vtkCellArray

    cells = vtkCellArray()
    cells.SetCells(count, _arrays().numpy_to_vtkIdTypeArray(np.ascontiguousarray(flat, dtype=np.int64), deep=True))
    return cells


def _light(renderer: Any) -> None:
    """Light the scene softly: a warm main light from above, a weaker one from the side, one from behind for the rims."""
    from vtkmodules.vtkRenderingCore import vtkLightKit

    kit = vtkLightKit()
    kit.SetKeyLightAngle(33, 20)
    kit.SetKeyLightIntensity(0.8)
    kit.SetFillLightAngle(5, -45)
    kit.SetKeyToFillRatio(2.4)
    kit.SetKeyToHeadRatio(3.0)
    kit.SetKeyToBackRatio(3.0)
    kit.SetKeyLightWarmth(0.54)
    kit.SetFillLightWarmth(0.48)
    kit.AddLightsToRenderer(renderer)


def _look(renderer: Any, points: npt.NDArray[np.float64]) -> None:
    """Point the camera at the points from `FROM`, as near as shows them all, and so that they fill the middle."""
    back = np.array(FROM) / np.linalg.norm(FROM)
    right = np.cross((0.0, 0.0, 1.0), back)
    right /= np.linalg.norm(right)
    up = np.cross(back, right)
    tall = np.tan(np.radians(VIEW_ANGLE / 2))
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    away = float(np.ptp(points, axis=0).max()) / tall
    for _ in range(CENTRINGS):
        seen = points - middle
        depth = away - seen @ back
        across, high = seen @ right / depth, seen @ up / depth
        middle = middle + away * (right * (across.min() + across.max()) + up * (high.min() + high.max())) / 2
        fills = max(np.ptp(high) / (2 * tall), np.ptp(across) / (2 * tall * WIDTH / HEIGHT))
        away *= float(fills) * MARGIN
    camera = renderer.GetActiveCamera()
    camera.SetFocalPoint(*middle)
    camera.SetPosition(*(middle + back * away))
    camera.SetViewUp(0.0, 0.0, 1.0)
    camera.SetViewAngle(VIEW_ANGLE)
    renderer.ResetCameraClippingRange()


def _peel(renderer: Any) -> None:
    """Draw what is see-through in the right order, whatever lies in front."""
    renderer.SetUseDepthPeeling(1)
    renderer.SetMaximumNumberOfPeels(30)
    renderer.SetOcclusionRatio(0.0)


def _pixels(window: Any) -> npt.NDArray[np.uint8]:
    """Return the drawn picture, (rows, columns, 3), bottom row first."""
    from vtkmodules.vtkCommonCore import vtkUnsignedCharArray

    data = vtkUnsignedCharArray()
    width, height = WIDTH * FINER, HEIGHT * FINER
    window.GetRGBACharPixelData(0, 0, width - 1, height - 1, 0, data)
    pixels: npt.NDArray[np.uint8] = _arrays().vtk_to_numpy(data).reshape(height, width, 4)[:, :, :3]
    return pixels


def _averaged(pixels: npt.NDArray[np.uint8]) -> npt.NDArray[np.uint8]:
    blocks = pixels.reshape(HEIGHT, FINER, WIDTH, FINER, 3).astype(np.float64)
    averaged: npt.NDArray[np.uint8] = np.rint(blocks.mean(axis=(1, 3))).astype(np.uint8)
    return averaged


def _png(pixels: npt.NDArray[np.uint8]) -> bytes:
    from vtkmodules.vtkCommonDataModel import vtkImageData
    from vtkmodules.vtkIOImage import vtkPNGWriter

    image = vtkImageData()
    image.SetDimensions(WIDTH, HEIGHT, 1)
    image.GetPointData().SetScalars(_arrays().numpy_to_vtk(np.ascontiguousarray(pixels).reshape(-1, 3), deep=True))
    writer = vtkPNGWriter()
    writer.SetInputData(image)
    writer.WriteToMemoryOn()
    writer.Write()
    return bytes(_arrays().vtk_to_numpy(writer.GetResult()).tobytes())


if __name__ == "__main__":
    main()
