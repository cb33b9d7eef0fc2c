"""What hypothesis draws where a test asks for any vehicle: the size of a bike to that of a lorry's corner."""

from hypothesis import strategies as st

from helpers.models.vehicles import Vehicle

st.register_type_strategy(
    Vehicle,
    st.builds(
        Vehicle,
        name=st.just("any"),
        body_mass=st.floats(20.0, 1000.0),
        wheel_mass=st.floats(1.0, 100.0),
        spring_rate=st.floats(3e3, 1e5),
        tyre_rate=st.floats(5e4, 5e5),
        damping=st.floats(100.0, 5e3),
    ),
)
