"""What several test files use."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Callable
from fnmatch import fnmatch
from pathlib import Path

import pytest
from hypothesis import settings

ROOT = Path(__file__).parent.parent

# A shell that runs the tests in the background leaves Ctrl-C switched off for all it starts.
signal.signal(signal.SIGINT, signal.default_int_handler)

# How long an example takes says how busy the machine is, not whether the code is right.
settings.register_profile("fit", deadline=None, derandomize="CI" in os.environ)
settings.load_profile("fit")

LONG = (
    "test_board.py::*meter-box]",
    "test_board.py::test_a_pair_cannot_have_another_row",
    "test_board.py::test_random_trays_get_the_best_of_all_rectangles",
    "test_board_cli.py::test_a_pair_of_boards",
    "test_board_cli.py::test_a_picture_is_as_large_as_its_board",
    "test_board_cli.py::test_a_room_for_a_board",
    "test_board_cli.py::test_every_board_is_told_in_words",
    "test_board_cli.py::test_fewer_notches_make_a_smaller_board",
    "test_board_cli.py::test_the_lines_told_make_a_file_that_passes[[]bench-timer]",
    "test_board_cli.py::test_the_lines_told_make_a_file_that_passes[[]meter-box]",
    "test_board_pair.py::test_every_height_of_the_display_gets_the_rows_the_check_allows[[]40.5-at]",
    "test_board_pair.py::test_the_command_tells_what_the_displays_height_does",
    "test_boxes_sizes.py::test_drifts_are_told_with_what_breaks_first",
    "test_boxes_table.py::test_every_row_agrees_with_the_check_run_alone[[]barrel-alarm]",
    "test_boxes_table.py::test_every_row_agrees_with_the_check_run_alone[[]bench-timer]",
    "test_boxes_table.py::test_every_row_agrees_with_the_check_run_alone[[]hive-scale]",
    "test_boxes_table.py::test_every_row_agrees_with_the_check_run_alone[[]meter-box]",
    "test_boxes_table.py::test_holes_at_random_are_holes_a_box_file_may_have",
    "test_boxes_table.py::test_mends_in_the_table_leave_no_clash",
    "test_boxes_table.py::test_rows_in_boxes_with_holes_agree_with_the_check_run_alone",
    "test_boxes_table.py::test_what_no_place_mends_is_told_without_a_layout",
    "test_boxes_table.py::test_workers_give_the_same_rows",
    "test_cases.py::test_no_sentence_about_random_builds_has_a_length_below_nothing",
    "test_check_noses.py::test_facing_walls_are_another_matter",
    "test_check_noses.py::test_walls_of_two_directions_are_named_and_the_mend_helps*",
    "test_cli.py::test_a_build_is_also_known_by_its_name",
    "test_cli_make.py::test_a_process_stopped_while_it_writes_leaves_nothing_behind[[]kill]",
    "test_cli_make.py::test_anyway_writes_a_clashing_build_and_every_sheet_says_so",
    "test_cli_make.py::test_paper[[]letter-size0]",
    "test_cli_make.py::test_the_same_input_gives_the_same_bytes_from_anywhere",
    "test_compare.py::test_sheets_for_another_box_say_what_moved",
    "test_containment.py::test_random_bodies_against_the_cad_kernel[[]thick deep lid]",
    "test_distance_cad.py::test_twenty_four_random_pairs_as_the_cad_kernel_has_them",
    "test_distance_known.py::test_eight_thousand_pairs_of_known_gap",
    "test_distance_properties.py::test_no_direction_frees_with_less_or_shows_more_room",
    "test_distance_properties.py::test_room_is_how_far_the_nearest_plane_is*",
    "test_draw_dummy.py::test_the_dummy_is_a_file_of_its_own",
    "test_draw_label.py::test_the_label_is_a_file_of_its_own",
    "test_draw_laser.py::test_the_command_line_takes_kerf_and_tabs",
    "test_draw_places.py::*[[]crowded]",
    "test_draw_places.py::*[[]random [3-9]]",
    "test_draw_places.py::test_layouts_stand_side_by_side_six_to_a_page_and_then_alone",
    "test_draw_places.py::test_pages_of_one_svg_do_not_overlap",
    "test_draw_places.py::test_the_same_layout_gives_the_same_bytes",
    "test_draw_places.py::test_the_scale_is_as_large_as_the_paper_takes",
    "test_draw_svg.py::test_svg_and_dxf_of_everything_to_cut_show_the_same[[]crowded]",
    "test_end_to_end.py::test_two_readers_find_bars_and_page_sizes[[]gate-counter-Letter]",
    "test_end_to_end.py::test_two_readers_find_bars_and_page_sizes[[]hive-scale-Letter]",
    "test_gauges_sheets.py::test_no_line_runs_through_a_word*",
    "test_gauges_sheets.py::test_nothing_depends_on_colour*",
    "test_gauges_sheets.py::test_words_are_large_enough_to_read*",
    "test_jig.py::test_a_faces_jig_is_its_outline_with_a_pilot_for_each_opening[[]front]",
    "test_jig.py::test_a_faces_jig_is_its_outline_with_a_pilot_for_each_opening[[]right]",
    "test_jig.py::test_the_command_line_makes_jigs_and_names_what_there_is",
    "test_layout_builds.py::test_a_shipped_build_without_places*gate-counter]",
    "test_layout_builds.py::test_a_shipped_build_without_places*meter-box]",
    "test_layout_builds.py::test_the_same_answer_each_time_for_one_of_them",
    "test_layout_builds.py::test_three_buttons_come_in_line_evenly_spaced_and_centred",
    "test_layout_builds.py::test_what_was_given_stays_where_it_is",
    "test_layout_cli.py::test_no_layout_ends_with_4_a_reason_and_ways_out",
    "test_layout_cli.py::test_out_of_time_ends_with_5",
    "test_layout_closer.py::test_a_closer_look_says_what_the_solver_says",
    "test_layout_faces.py::test_a_row_for_which_no_face_has_room_is_given_up_and_said_so",
    "test_layout_faces.py::test_a_row_of_parts_that_may_go_on_several_faces_is_on_one",
    "test_layout_helps.py::test_the_odds_of_a_help_are_those_of_the_copies",
    "test_layout_helps.py::test_where_only_a_notch_helps_the_smallest_is_found",
    "test_layout_options.py::test_a_free_display_takes_the_board_behind_it_along_by_whole_holes",
    "test_layout_random.py::test_one_open_part_is_answered_as_by_a_plain_search",
    "test_layout_random.py::test_what_is_found_passes_the_check",
    "test_layout_reasons.py::test_too_many_buttons_on_a_side",
    "test_layout_strict.py::test_a_few_reasons_are_strict",
    "test_mend.py::test_a_mend_that_is_not_there_is_refused_in_words",
    "test_mend.py::test_the_command_shows_the_check_after_a_mend",
    "test_no_layout.py::test_a_few_answers",
    "test_no_layout.py::test_a_joint_keeps_its_blocks*",
    "test_no_layout.py::test_gaps_fall_off_by_no_more_than_parts_are_moved",
    "test_no_layout.py::test_more_buttons_than_a_lid_can_have_are_refused_at_once",
    "test_no_layout.py::test_places_leave_their_marks_where_that_gives_clearly_more_room",
    "test_no_layout.py::test_two_nuts_neither_of_which_can_be_first",
    "test_odds.py::test_sampled_odds_are_those_of_the_stack",
    "test_odds.py::test_sampled_odds_take_the_place_of_quick_ones",
    "test_odds.py::test_the_command_tells_the_odds",
    "test_odds.py::test_the_dimension_that_costs_most_is_named_first_with_its_gain",
    "test_odds.py::test_the_same_seed_gives_the_same_answer_however_many_work",
    "test_odds.py::test_the_stack_of_a_finding_names_its_terms",
    "test_odds_copies.py::test_holes_of_one_face_share_their_template",
    "test_odds_exact.py::*[[]near_card]",
    "test_odds_exact.py::*[[]tall_amplifier]",
    "test_old_holes.py::test_what_holds_what_and_how_far_apart_agrees_with_shapely",
    "test_old_holes_boxes.py::test_place_puts_open_parts_on_holes_that_are_there_and_says_so",
    "test_order_proof.py::test_a_board_set_in_back_needs_its_room_free",
    "test_order_proof.py::test_the_printed_order_can_be_done[[]barrel-alarm]",
    "test_order_proof.py::test_the_printed_order_can_be_done[[]meter-box]",
    "test_order_proof.py::test_the_printed_order_can_be_done[[]one-slot]",
    "test_order_proof.py::test_the_printed_order_can_be_done[[]tilted-right]",
    "test_order_proof.py::test_the_printed_order_can_be_done[[]tilted]",
    "test_order_proof.py::test_the_printed_order_can_be_done[[]under-a-rib]",
    "test_printer.py::test_each_line_is_the_model_times_the_correction[[]small-*-pdfminer]",
    "test_read_choices.py::test_wishes_disagree_exactly_when_no_arrangement_has_them_all",
    "test_rewrite_files.py::test_all_at_once_is_one_after_the_other",
    "test_settled.py::test_a_row_of_the_table_of_boxes_is_what_the_layout_solver_says_alone",
    "test_settled.py::test_places_for_another_box_are_told_and_not_written",
    "test_settled.py::test_rows_leave_a_display_open_and_the_check_places_it_all_the_same",
    "test_sheets_papers.py::*[[]small-A4-flat]",
    "test_sheets_papers.py::*[[]small-A4-wrap]",
    "test_sheets_papers.py::*[[]small-A5-flat]",
    "test_sheets_papers.py::*[[]small-A5-wrap]",
    "test_sheets_tiles.py::test_neighbours_draw_what_they_share_alike*",
    "test_sheets_words.py::test_a_printer_without_shades_loses_nothing[[]barrel-alarm]",
    "test_sheets_words.py::test_a_printer_without_shades_loses_nothing[[]gate-counter]",
    "test_sheets_words.py::test_a_printer_without_shades_loses_nothing[[]hive-scale]",
    "test_sheets_words.py::test_a_printer_without_shades_loses_nothing[[]meter-box]",
    "test_solve_engine.py::test_l_boards_go_into*6 parts, 2 of them L]",
    "test_solve_packing.py::*[[]C1P2]",
    "test_solve_packing.py::*[[]C2P?]",
    "test_solve_packing.py::*klarner_42_1x2x4_7]",
    "test_solve_packing.py::test_strips_of_hopper_and_turton_reach_the_known_height[[]C1P3]",
    "test_solve_reasons.py::test_fifteen_impossible_layouts_have_strictly_minimal_reasons",
    "test_tilting.py::test_random_ways_are_free[[]0]",
    "test_tilting.py::test_random_ways_are_free[[][1-9]*",
    "test_tilting.py::test_room_is_kept_all_the_way",
    "test_tilting.py::test_the_gentlest_tilt_lets_a_rod_through_a_mouth*",
    "test_wrap.py::*[[]drafted-A5]",
    "test_wrap.py::*[[]uneven-A5]",
    "test_wrap.py::test_folded_round_the_box_each_hole_is_on_its_axis*",
)
"""Tests, mostly single cases of one, that take seconds each: only the slow run has them."""

Ran = subprocess.CompletedProcess[str]
RunFit = Callable[..., Ran]


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark the long tests before the marked ones are sorted out."""
    for item in items:
        if any(fnmatch(item.nodeid, f"*{name}") for name in LONG):
            item.add_marker(pytest.mark.slow)


@pytest.fixture(scope="session")
def root() -> Path:
    """The top folder of the checkout."""
    return ROOT


@pytest.fixture
def fit_process(tmp_path: Path) -> RunFit:
    """Run ``python -m fit …`` as its own process, in a folder of its own unless told where."""

    def run(*words: str | Path, cwd: Path = tmp_path, **env: str) -> Ran:
        return subprocess.run(
            [sys.executable, "-m", "fit", *map(str, words)],
            cwd=cwd,
            env=os.environ | {"PYTHONPATH": str(ROOT), "COLUMNS": "100"} | env,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )

    return run
