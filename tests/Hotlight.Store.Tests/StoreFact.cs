using Xunit.Abstractions;
using Xunit.Sdk;

namespace Hotlight.Store.Tests;

/// <summary>A test of a class for PostgreSQL, skipped with a clear word where the server is not installed.</summary>
[AttributeUsage(AttributeTargets.Method)]
[XunitTestCaseDiscoverer("Hotlight.Store.Tests.StoreFactDiscoverer", "Hotlight.Store.Tests")]
public sealed class StoreFactAttribute : FactAttribute;

/// <summary>A theory of a class for PostgreSQL, skipped with a clear word where the server is not installed.</summary>
[AttributeUsage(AttributeTargets.Method)]
[XunitTestCaseDiscoverer("Hotlight.Store.Tests.StoreTheoryDiscoverer", "Hotlight.Store.Tests")]
public sealed class StoreTheoryAttribute : TheoryAttribute;

/// <summary>Finds tests, inherited ones too, and skips those of a class whose database is missing.</summary>
/// <param name="sink">Takes what the runner is told.</param>
public sealed class StoreFactDiscoverer(IMessageSink sink) : FactDiscoverer(sink)
{
    /// <inheritdoc/>
    protected override IXunitTestCase CreateTestCase(ITestFrameworkDiscoveryOptions discoveryOptions, ITestMethod testMethod, IAttributeInfo factAttribute)
        => new StoreTestCase(DiagnosticMessageSink, discoveryOptions.MethodDisplayOrDefault(), discoveryOptions.MethodDisplayOptionsOrDefault(), testMethod);
}

/// <summary>Finds theories, inherited ones too, and skips those of a class whose database is missing.</summary>
/// <param name="sink">Takes what the runner is told.</param>
public sealed class StoreTheoryDiscoverer(IMessageSink sink) : TheoryDiscoverer(sink)
{
    /// <inheritdoc/>
    public override IEnumerable<IXunitTestCase> Discover(ITestFrameworkDiscoveryOptions discoveryOptions, ITestMethod testMethod, IAttributeInfo theoryAttribute)
        => StoreTestCase.ReasonToSkip(testMethod) is { } reason
            ? CreateTestCasesForSkip(discoveryOptions, testMethod, theoryAttribute, reason)
            : base.Discover(discoveryOptions, testMethod, theoryAttribute);
}

/// <summary>A test that knows whether its class can run.</summary>
public sealed class StoreTestCase : XunitTestCase
{
    /// <summary>For the runner, which writes test cases down and reads them back.</summary>
    [Obsolete("Called by the de-serializer")]
    public StoreTestCase()
    {
    }

    /// <summary>Creates the case.</summary>
    public StoreTestCase(IMessageSink sink, TestMethodDisplay display, TestMethodDisplayOptions options, ITestMethod method)
        : base(sink, display, options, method)
    {
    }

    /// <summary>Why a test cannot run here; null: it can.</summary>
    internal static string? ReasonToSkip(ITestMethod method)
        => method.TestClass.Class.Name.Contains("Postgres", StringComparison.Ordinal) && !PostgresServer.IsInstalled ? PostgresServer.Missing : null;

    /// <inheritdoc/>
    protected override string? GetSkipReason(IAttributeInfo factAttribute) => ReasonToSkip(TestMethod) ?? base.GetSkipReason(factAttribute);
}
