"""Joints with play, and how the model's builder takes joints and contacts."""

import numpy as np
import pytest

from fem import ModelBuilder, ModelError
from fem.joint import joint_part, joint_state, make_joints
from fem.rotations import rotation_matrix

K = np.array([500.0, 700.0, 900.0, 4e4, 5e4, 6e4])
PLAY = np.array([0.1, 0.0, 0.2, 0.01, 0.02, 0.0])


def one(axes=None, arms=((0, 0, 0), (0, 0, 0)), play=PLAY):
    part = joint_part("hinge", "A", "B", K, play, axes)
    return make_joints([part], np.array([[0, 1]]), np.arange(2), np.array(arms, float))


def test_force_is_a_spring_beyond_the_play():
    joints = one()
    for i in range(6):
        for d in (-2.5, -1.0, -0.4, 0.4, 1.0, 2.5):
            move = d * PLAY[i] if PLAY[i] else 0.01 * d
            q = np.zeros((1, 12))
            q[0, 6 + i] = move
            state = joint_state(joints, q)
            beyond = np.sign(move) * max(abs(move) - PLAY[i], 0.0)
            due = np.zeros(6)
            due[i] = K[i] * beyond
            np.testing.assert_allclose(state.force[0], due, rtol=1e-12)
            np.testing.assert_allclose(state.gradient[0], np.r_[-due, due], rtol=1e-12)
            assert state.energy[0] == pytest.approx(K[i] * beyond**2 / 2)
            assert state.motion[0, i] == pytest.approx(move)


def test_a_pull_closes_the_play_and_then_stretches():
    # node A held, B pulled along the joint's own x: d = c + F / k, to either side
    axes = rotation_matrix(np.array([0.3, 0.2, -0.9]))
    joints = one(axes)
    for F in (-40.0, 25.0):
        d = np.sign(F) * PLAY[0] + F / K[0]
        q = np.zeros((1, 12))
        q[0, 6:9] = d * axes[0]
        np.testing.assert_allclose(joint_state(joints, q).gradient[0, 6:9], F * axes[0], atol=1e-10)


def test_without_play_it_is_the_linear_spring():
    joints = one(play=np.zeros(6))
    q = np.random.default_rng(1).normal(size=(1, 12))
    state, rest = joint_state(joints, q), joint_state(joints, 0.0 * q)
    np.testing.assert_allclose(state.tangent, rest.tangent)
    np.testing.assert_allclose(state.gradient[0], rest.tangent[0] @ q[0], rtol=1e-12)
    k = np.diag(K)
    np.testing.assert_allclose(rest.tangent[0], np.block([[k, -k], [-k, k]]))


def test_inside_the_play_it_has_no_stiffness_at_all():
    q = np.zeros((1, 12))
    state = joint_state(one(play=np.full(6, 0.1)), q)
    assert not state.tangent.any()


@pytest.mark.parametrize("seed", range(4))
def test_gradient_tangent_and_balance(seed):
    rng = np.random.default_rng(seed)
    parts = [
        joint_part(f"j{i}", "A", "B", K, PLAY, rotation_matrix(rng.normal(size=3)))
        for i in range(5)
    ]
    arm = rng.normal(size=(2, 3)) * 20
    joints = make_joints(parts, np.tile([0, 1], (len(parts), 1)), np.arange(2), arm)
    q = rng.normal(size=(3, 5, 12)) * 0.02
    state, h = joint_state(joints, q), 1e-7
    for i in range(12):
        d = np.zeros(12)
        d[i] = h
        up, down = joint_state(joints, q + d), joint_state(joints, q - d)
        slope = (up.energy - down.energy) / (2 * h)
        np.testing.assert_allclose(slope, state.gradient[..., i], rtol=1e-5, atol=1e-2)
        slope = (up.gradient - down.gradient) / (2 * h)
        np.testing.assert_allclose(slope, state.tangent[..., i], rtol=1e-6, atol=1e-1)
    f = state.gradient
    np.testing.assert_allclose(f[..., :3], -f[..., 6:9], atol=1e-9)
    # node = place - arm; places coincide
    moment = (
        f[..., 3:6] + f[..., 9:] + np.cross(-arm[0], f[..., :3]) + np.cross(-arm[1], f[..., 6:9])
    )
    np.testing.assert_allclose(moment, 0.0, atol=1e-8)


def test_turned_in_space_it_answers_turned():
    rng = np.random.default_rng(7)
    turn = rotation_matrix(rng.normal(size=3))
    axes, arms = rotation_matrix(rng.normal(size=3)), rng.normal(size=(2, 3)) * 9
    q, four = rng.normal(size=(1, 12)) * 0.05, np.kron(np.eye(4), turn)
    a = joint_state(one(axes, arms), q)
    b = joint_state(one(axes @ turn.T, arms @ turn.T), q @ four.T)
    np.testing.assert_allclose(b.energy, a.energy, rtol=1e-12)
    np.testing.assert_allclose(b.force, a.force, rtol=1e-10)
    np.testing.assert_allclose(b.tangent, four @ a.tangent @ four.T, rtol=1e-9, atol=1e-6)


def builder():
    b = ModelBuilder()
    b.node("A", [0, 0, 0])
    b.node("B", [0, 0, 50])
    b.node("on A", [3, 0, 40])
    b.node("on B", [3, 0, 40])
    b.arm("on A", "A")
    b.arm("on B", "B")
    return b


def test_the_model_carries_joints_and_contacts_on_their_masters():
    b = builder()
    b.joint("hinge", "on A", "on B", K, 0.1)
    b.contact("face", "on A", "B", [3, 0, 42], [0, 0, 5], 0.5, 1e4, 4e3, 0.3)
    model = b.build()
    assert model.joints.names == ("hinge",)
    assert model.joints.nodes.tolist() == [[0, 1]]
    assert model.contacts.nodes.tolist() == [[0, 1]]
    np.testing.assert_allclose(model.contacts.normal, [[0, 0, 1]])
    np.testing.assert_allclose(model.joints.play, [[0.1] * 6])
    # B turns by θ about y: the place at (3, 0, -10) from B moves by θ (-10, 0, -3)
    q = np.zeros(12)
    q[10] = 1e-3
    np.testing.assert_allclose(model.joints.motion[0] @ q, 1e-3 * np.array([-10, 0, -3, 0, 1, 0]))
    np.testing.assert_allclose(model.contacts.jump[0] @ q, 1e-3 * np.array([-8, 0, -3]))
    empty = builder().build()
    assert empty.joints.motion.shape == (0, 6, 12)
    assert empty.contacts.jump.shape == (0, 3, 12)


CONTACT = dict(point=[0, 0, 20], normal=[0, 0, 1], gap=0.0, k_n=1e4, k_t=1e3, friction=0.3)


@pytest.mark.parametrize(
    ("change", "text"),
    [
        ({"point": [0, np.nan, 0]}, "three finite coordinates"),
        ({"normal": [0, 0, 0]}, "no direction"),
        ({"k_n": 0.0}, "k_n is 0.0 N/mm"),
        ({"k_t": -1.0}, "k_t is -1.0"),
        ({"friction": -0.1}, "friction is -0.1"),
        ({"gap": np.inf}, "gap is inf"),
    ],
)
def test_contacts_out_of_bounds_are_refused_by_name(change, text):
    with pytest.raises(ModelError, match=f"contact 'face': .*{text}") as caught:
        builder().contact("face", "A", "B", **{**CONTACT, **change})
    assert caught.value.part == "face"


def test_a_body_cannot_press_on_itself():
    b = builder()
    b.contact("face", "A", "on A", **CONTACT)
    with pytest.raises(ModelError, match="belong to one rigid body"):
        b.build()


@pytest.mark.parametrize(
    ("args", "text"),
    [
        (([1.0] * 5,), "six finite constants"),
        (([1.0] * 5 + [-1.0],), "six finite constants"),
        ((K, [-0.1] * 6), "six finite plays"),
        ((K, 0.0, np.diag([1, 1, 2])), "square to each other"),
        ((K, 0.0, np.diag([1, 1, -1])), "right-handed"),
    ],
)
def test_joints_out_of_bounds_are_refused_by_name(args, text):
    with pytest.raises(ModelError, match=f"joint 'hinge': .*{text}"):
        builder().joint("hinge", "on A", "on B", *args)


def test_joints_and_springs_need_nodes_at_one_place():
    with pytest.raises(ModelError, match="joint 'hinge': nodes 'A' and 'B' lie 50 mm apart"):
        builder().joint("hinge", "A", "B", K)
    with pytest.raises(ModelError, match="spring 's': nodes 'A' and 'B' lie 50 mm apart"):
        builder().spring("s", "A", "B", K)
