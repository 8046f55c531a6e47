// Where the eye is: a place to look at, a direction, and how much is seen; with or without perspective.

import { Matrix4, OrthographicCamera, PerspectiveCamera, Vector3 } from 'three';

const HALF_ANGLE = (13 * Math.PI) / 180; // half the upright angle of view: mild, so that a long plane is not bent
const STEEPEST = Math.PI / 2;
const NEAREST = 3; // mm of half height; nearer there is nothing to see but facets
const FARTHEST = 3000;

/** Standard views: azimuth and elevation in degrees of the eye, seen from the plane; azimuth 0 is the heel, -90 the left. */
export const VIEWS = {
  corner: { name: 'Corner', azimuth: -118, elevation: 30 },
  left: { name: 'Left side', azimuth: -90, elevation: 0 },
  right: { name: 'Right side', azimuth: 90, elevation: 0 },
  top: { name: 'Plan', azimuth: -90, elevation: 90 },
  sole: { name: 'Sole', azimuth: -90, elevation: -90 },
  toe: { name: 'Toe', azimuth: 180, elevation: 0 },
  heel: { name: 'Heel', azimuth: 0, elevation: 0 },
};

export class Eye {
  constructor() {
    this.target = new Vector3();
    this.azimuth = -2;
    this.elevation = 0.5;
    this.reach = 150; // half the height of what is seen at the target, mm
    this.flat = false; // without perspective
    this.bent = new PerspectiveCamera((2 * HALF_ANGLE * 180) / Math.PI, 1, 1, 1000);
    this.straight = new OrthographicCamera();
  }

  get camera() {
    return this.flat ? this.straight : this.bent;
  }

  get distance() {
    return this.reach / Math.tan(HALF_ANGLE);
  }

  /** Unit vectors to the right, up, and from the target to the eye. */
  axes() {
    const [ca, sa] = [Math.cos(this.azimuth), Math.sin(this.azimuth)];
    const [ce, se] = [Math.cos(this.elevation), Math.sin(this.elevation)];
    return { right: new Vector3(-sa, ca, 0), up: new Vector3(-se * ca, -se * sa, ce), back: new Vector3(ce * ca, ce * sa, se) };
  }

  /** Everything that another eye needs to see the same. */
  get state() {
    const { azimuth, elevation, reach, flat } = this;
    return { target: this.target.toArray(), azimuth, elevation, reach, flat };
  }

  set state({ target, azimuth, elevation, reach, flat }) {
    this.target.set(...target);
    Object.assign(this, { azimuth, elevation, reach, flat });
  }

  turn(right, up) {
    this.azimuth -= right;
    this.elevation = Math.max(-STEEPEST, Math.min(STEEPEST, this.elevation + up));
  }

  /** Moves what is looked at, by shares of the seen half height. */
  slide(right, up) {
    const axes = this.axes();
    this.target.addScaledVector(axes.right, -right * this.reach).addScaledVector(axes.up, -up * this.reach);
  }

  /** Sees `factor` times as much; the spot at (x, y), in half heights from the middle, stays where it is. */
  zoom(factor, x = 0, y = 0) {
    const before = this.reach;
    this.reach = Math.max(NEAREST, Math.min(FARTHEST, before * factor));
    const gained = 1 - this.reach / before;
    this.slide((-x * gained * before) / this.reach, (-y * gained * before) / this.reach);
  }

  /** Returns the state that shows all points of a box in a frame of this aspect, from the present direction. */
  fitted(box, aspect) {
    const axes = this.axes();
    const middle = box.low.clone().add(box.high).multiplyScalar(0.5);
    const nearer = this.flat ? 0 : Math.tan(HALF_ANGLE); // what is nearer is drawn larger
    let reach = NEAREST;
    for (let i = 0; i < 8; i += 1) {
      const corner = new Vector3(i & 1 ? box.low.x : box.high.x, i & 2 ? box.low.y : box.high.y, i & 4 ? box.low.z : box.high.z);
      corner.sub(middle);
      const aside = Math.max(Math.abs(corner.dot(axes.up)), Math.abs(corner.dot(axes.right)) / aspect);
      reach = Math.max(reach, aside + corner.dot(axes.back) * nearer);
    }
    return { ...this.state, target: middle.toArray(), reach: reach * 1.06 };
  }

  /** Sets the cameras for a frame of this aspect and a scene within `radius` of `middle`. */
  aim(aspect, middle, radius) {
    const axes = this.axes();
    const place = this.target.clone().addScaledVector(axes.back, this.distance);
    const depth = place.clone().sub(middle).dot(axes.back);
    const near = this.flat ? depth - radius : Math.max(depth - radius, this.distance / 400);
    const far = Math.max(depth + radius, near + 1);
    for (const camera of [this.bent, this.straight]) {
      camera.position.copy(place);
      camera.quaternion.setFromRotationMatrix(new Matrix4().makeBasis(axes.right, axes.up, axes.back));
      camera.near = near;
      camera.far = far;
    }
    this.bent.aspect = aspect;
    Object.assign(this.straight, { left: -this.reach * aspect, right: this.reach * aspect, top: this.reach, bottom: -this.reach });
    this.bent.updateProjectionMatrix();
    this.straight.updateProjectionMatrix();
    this.bent.updateMatrixWorld();
    this.straight.updateMatrixWorld();
  }
}
