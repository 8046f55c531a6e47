// The drawing surface, the lights and the floor that takes the soft shadow.

import {
  DirectionalLight,
  HemisphereLight,
  Mesh,
  VSMShadowMap,
  PlaneGeometry,
  Scene,
  ShadowMaterial,
  Vector3,
  WebGLRenderer,
} from 'three';

const FINEST = 2; // pixels of the drawing for one of the page; more is not seen and costs much
const THEMES = {
  light: { hemisphere: 1.5, ground: 0xd8cab2, sky: 0xfffaf0, key: 1.7, fill: 0.9, lamp: 0.5, shadow: 0.26 },
  dark: { hemisphere: 1.1, ground: 0x8a7660, sky: 0xfff0dc, key: 1.6, fill: 0.7, lamp: 0.45, shadow: 0.55 },
};

export class Stage {
  constructor(canvas) {
    this.canvas = canvas;
    const wanted = { antialias: true, alpha: true, stencil: true, preserveDrawingBuffer: true };
    const context = canvas.getContext('webgl2', wanted);
    if (!context) throw new Error('no WebGL 2');
    this.renderer = new WebGLRenderer({ canvas, context, ...wanted });
    this.renderer.localClippingEnabled = true;
    this.renderer.shadowMap.enabled = true;
    this.renderer.shadowMap.type = VSMShadowMap;
    this.renderer.shadowMap.autoUpdate = false;
    this.scene = new Scene();
    this.hemisphere = new HemisphereLight();
    this.key = new DirectionalLight(0xfff6e8);
    this.fill = new DirectionalLight(0xdfe8ff);
    this.lamp = new DirectionalLight(0xffffff);
    this.key.castShadow = true;
    this.key.shadow.mapSize.set(1024, 1024);
    this.key.shadow.radius = 5;
    this.key.shadow.blurSamples = 14;
    this.key.shadow.bias = -0.0006;
    this.key.shadow.normalBias = 0.35;
    this.floor = new Mesh(new PlaneGeometry(1, 1), new ShadowMaterial());
    this.floor.receiveShadow = true;
    this.scene.add(this.hemisphere, this.key, this.key.target, this.fill, this.lamp, this.floor);
    this.setTheme('light');
  }

  setTheme(name) {
    const theme = THEMES[name];
    this.hemisphere.color.set(theme.sky);
    this.hemisphere.groundColor.set(theme.ground);
    this.hemisphere.intensity = theme.hemisphere;
    this.key.intensity = theme.key;
    this.fill.intensity = theme.fill;
    this.lamp.intensity = theme.lamp;
    this.floor.material.opacity = theme.shadow;
  }

  /** Fits floor and shadow to all that may be seen. floor: its height, mm. */
  surround(low, high, floor) {
    const middle = low.clone().add(high).multiplyScalar(0.5);
    const radius = high.clone().sub(low).length() / 2;
    this.middle = middle;
    this.radius = radius * 1.6;
    this.floor.position.set(middle.x, middle.y, floor);
    this.floor.scale.set(radius * 6, radius * 6, 1);
    this.key.position.copy(middle).add(new Vector3(-0.62, 0.3, 1.2).multiplyScalar(radius * 1.8));
    this.key.target.position.copy(middle);
    this.fill.position.copy(middle).add(new Vector3(-0.25, -1, 0.35));
    this.fill.target = this.key.target;
    const { camera } = this.key.shadow;
    Object.assign(camera, { left: -radius, right: radius, top: radius, bottom: -radius, near: radius * 0.4, far: radius * 5 });
    camera.updateProjectionMatrix();
    this.renderer.shadowMap.needsUpdate = true;
  }

  /** Follows the canvas's size on the page; returns whether it changed. */
  resize(width, height, ratio) {
    const fine = Math.min(FINEST, ratio);
    const [w, h] = [Math.max(1, Math.round(width)), Math.max(1, Math.round(height))];
    if (this.width === w && this.height === h && this.ratio === fine) return false;
    Object.assign(this, { width: w, height: h, ratio: fine });
    this.renderer.setPixelRatio(fine);
    this.renderer.setSize(w, h, false);
    return true;
  }

  get aspect() {
    return this.width / this.height;
  }

  draw(eye) {
    eye.aim(this.aspect, this.middle, Math.max(this.radius, eye.target.distanceTo(this.middle) + 1));
    this.lamp.position.copy(eye.camera.position);
    this.lamp.target.position.copy(eye.target);
    this.lamp.target.updateMatrixWorld();
    this.floor.visible = eye.elevation > 0.02;
    this.renderer.render(this.scene, eye.camera);
  }

  /** Lets go of what lay in graphics memory, after that was lost. */
  forget() {
    this.floor.geometry.dispose();
    this.floor.material.dispose();
    this.key.shadow.dispose();
    this.key.shadow.map = null;
  }

  dispose() {
    this.floor.geometry.dispose();
    this.floor.material.dispose();
    this.key.shadow.dispose();
    this.renderer.dispose();
  }
}
