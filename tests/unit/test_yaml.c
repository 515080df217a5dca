/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/rvtest.h"

#include <string.h>

#include "core/yaml.h"

static struct rv_yaml *read_text(const char *text)
{
	struct rv_yaml *yaml = NULL;
	struct rv_error error = {0};

	if (rv_yaml_new(text, strlen(text), &yaml, &error) != RV_OK) {
		print_error("%d:%d: %s\n", error.line, error.column, error.text);
		fail();
	}
	return yaml;
}

static void every_node_knows_its_place(void **state)
{
	struct rv_yaml *yaml = read_text("a: 1\nlist: [x, \"two words\"]\nmap:\n  inner: {k: v}\n");
	const struct rv_yaml_node *root = rv_yaml_root(yaml);
	const struct rv_yaml_node *list = rv_yaml_get(root, "list");
	const struct rv_yaml_node *inner = rv_yaml_get(rv_yaml_get(root, "map"), "inner");

	(void)state;
	assert_int_equal(root->kind, RV_YAML_MAP);
	assert_int_equal(root->count, 3);
	assert_string_equal(rv_yaml_get(root, "a")->text, "1");
	assert_int_equal(list->kind, RV_YAML_LIST);
	assert_int_equal(list->line, 2);
	assert_int_equal(list->column, 7);
	assert_int_equal(list->key_column, 1);
	assert_string_equal(list->first->next->text, "two words");
	assert_true(list->first->next->quoted);
	assert_int_equal(list->first->next->column, 11);
	assert_null(list->first->next->next);
	assert_int_equal(inner->key_line, 4);
	assert_int_equal(inner->key_column, 3);
	assert_string_equal(rv_yaml_get(inner, "k")->text, "v");
	assert_null(rv_yaml_get(root, "A"));
	rv_yaml_free(yaml);
}

static void columns_count_characters_not_bytes(void **state)
{
	struct rv_yaml *yaml = read_text("{\xc3\xa9t\xc3\xa9: a, b: c}\n");

	(void)state;
	assert_int_equal(rv_yaml_get(rv_yaml_root(yaml), "b")->key_column, 10);
	rv_yaml_free(yaml);
}

static void words_are_not_guessed_into_anything(void **state)
{
	struct rv_yaml *yaml = read_text("a: yes\nb: 0x10\nc: ~\nd: \"\"\ne:\nf: 1:30\n");
	const struct rv_yaml_node *root = rv_yaml_root(yaml);

	(void)state;
	assert_string_equal(rv_yaml_get(root, "a")->text, "yes");
	assert_string_equal(rv_yaml_get(root, "b")->text, "0x10");
	assert_string_equal(rv_yaml_get(root, "f")->text, "1:30");
	assert_true(rv_yaml_is_blank(rv_yaml_get(root, "c")));
	assert_false(rv_yaml_is_blank(rv_yaml_get(root, "d")));
	assert_true(rv_yaml_is_blank(rv_yaml_get(root, "e")));
	rv_yaml_free(yaml);
}

static void a_refusal_leaves_the_output_alone(void **state)
{
	struct rv_yaml *yaml = NULL;
	struct rv_error error = {0};
	const char text[] = "a: {b: 1, b: 2}";

	(void)state;
	assert_int_equal(rv_yaml_new(text, sizeof text - 1, &yaml, &error), RV_ERR_SYNTAX);
	assert_null(yaml);
	assert_string_equal(error.tag, "key_twice");
	assert_int_equal(error.line, 1);
	assert_int_equal(error.column, 11);
	assert_int_equal(rv_yaml_new(text, sizeof text - 1, &yaml, NULL), RV_ERR_SYNTAX);
	assert_int_equal(rv_yaml_new("", 0, &yaml, &error), RV_ERR_MISSING);
	assert_null(yaml);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
	    cmocka_unit_test(every_node_knows_its_place),
	    cmocka_unit_test(columns_count_characters_not_bytes),
	    cmocka_unit_test(words_are_not_guessed_into_anything),
	    cmocka_unit_test(a_refusal_leaves_the_output_alone),
	};

	return cmocka_run_group_tests_name("yaml", tests, NULL, NULL);
}
