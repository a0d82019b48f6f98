"""The top-down canvas: a camera, one drawing function a mark, and the gestures of the mouse."""
